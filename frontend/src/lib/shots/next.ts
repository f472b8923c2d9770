import type { RevisionSummary, ShotSummary, Submission } from '$lib/api';
import { count, longDay } from '$lib/text';

/** What a student does next about a shot. */
export interface NextStep {
  words: string;
  /** Where it is done; nothing to do but wait when null. */
  link: { href: string; name: string } | null;
}

const sendLink = (shot: ShotSummary, name: string) => ({ href: `/send?shot=${shot.id}`, name });

/** Whether a revision counts as sent: neither withdrawn nor returned. */
export function stands(submission: Submission): boolean {
  return submission.state !== 'withdrawn' && submission.state !== 'returned';
}

/** The revision sent last. */
export function latest(shot: ShotSummary): RevisionSummary | undefined {
  return shot.revisions.at(-1);
}

/** The next step of a shot; `today` is a day of the school's zone. */
export function nextStep(shot: ShotSummary, today: string): NextStep {
  const last = latest(shot);
  if (!last) return { words: 'Nothing sent yet.', link: sendLink(shot, 'Send the first revision') };
  const { submission } = last;
  const promised = longDay(submission.promised_on, today);
  switch (submission.state) {
    case 'waiting':
      return { words: `r${last.number} waits for your mentor. The critique is promised by ${promised}.`, link: null };
    case 'opened':
      return {
        words: `Your mentor is looking at r${last.number}. The critique is promised by ${promised}.`,
        link: null,
      };
    case 'withdrawn':
      return {
        words: `You withdrew r${last.number}; it did not cost you anything.`,
        link: sendLink(shot, 'Send it again'),
      };
    case 'returned':
      return {
        words: `r${last.number} came back to you unspent: ${submission.return_reason ?? 'it could not be prepared'}.`,
        link: sendLink(shot, 'Send it again'),
      };
    case 'released':
      return {
        words:
          shot.open_concerns > 0
            ? `${count(shot.open_concerns, 'concern')} open. Rework it, then send r${last.number + 1}.`
            : `Nothing is open after r${last.number}.`,
        link: submission.critique_id
          ? { href: `/read/${submission.critique_id}`, name: `Read the critique of r${last.number}` }
          : null,
      };
  }
}

const states: Record<Submission['state'], string> = {
  waiting: 'waits',
  opened: 'being looked at',
  released: 'critique released',
  withdrawn: 'withdrawn',
  returned: 'returned to you',
};

/** The state of a submission in words. */
export function stateWords(state: Submission['state']): string {
  return states[state];
}
