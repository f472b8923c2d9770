import type { Standing, Verdict } from '$lib/api';

/** The standing of a concern after a verdict, or after none; the server says the same when it answers. */
export function standingAfter(before: Standing, verdict: Verdict | null): Standing {
  if (verdict === 'set-aside' || (before === 'set-aside' && verdict !== 'cleared')) return 'set-aside';
  if (verdict === 'cleared') return 'cleared';
  if (before === 'cleared') return verdict ? 'back' : 'cleared';
  if (verdict === 'still') return 'noted';
  return verdict ?? 'unmentioned';
}
