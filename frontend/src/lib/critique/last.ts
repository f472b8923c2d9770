import type { CarriedConcern, Concern } from '$lib/api';
import { markStandings, type MarkStanding } from '$lib/marks';

/** A concern and how a critique judged it. */
export interface Judged {
  concern: Concern;
  standing: MarkStanding;
}

/**
 * What the critique of revision `number` said of earlier concerns without a note of its own. What it passed over is left
 * out, and what was cleared before and stayed so.
 */
export function judgedIn(carried: readonly CarriedConcern[], number: number): Judged[] {
  return carried.flatMap(({ concern }) => {
    const history = concern.history.filter((step) => step.revision <= number).sort((a, b) => a.revision - b.revision);
    const step = history.at(-1);
    const standing = markStandings(history.map((h) => h.standing)).at(-1);
    if (step?.revision !== number || step.note_id !== null || !standing) return [];
    const passedOver =
      step.standing === 'unmentioned' || (step.standing === 'cleared' && history.at(-2)?.standing === 'cleared');
    return passedOver ? [] : [{ concern, standing }];
  });
}
