import type { Kind, Standing } from '$lib/api';

/**
 * What a mark shows. `still` is a concern noted again while it was open: a standing `noted` that is not its first.
 * `late` is what was already so in a revision and not mentioned then.
 */
export type MarkStanding = Standing | 'still' | 'late';

/** The mark of each revision of one concern, oldest first; null stays null (before it was noted). */
export function markStandings(standings: readonly (Standing | null)[]): (MarkStanding | null)[] {
  let seen = false;
  return standings.map((standing) => {
    const again = seen;
    if (standing !== null) seen = true;
    return standing === 'noted' && again ? 'still' : standing;
  });
}

const words: Record<MarkStanding, string> = {
  noted: 'noted',
  still: 'still there',
  unmentioned: 'not mentioned',
  eased: 'eased',
  cleared: 'cleared',
  back: 'came back',
  'set-aside': 'set aside',
  late: 'already so, not mentioned then',
};

/** A standing in words; praise that holds is not a fault that stays. */
export function standingWords(standing: MarkStanding, kind: Kind): string {
  if (kind === 'keep' && (standing === 'still' || standing === 'back')) return 'holds';
  return words[standing];
}
