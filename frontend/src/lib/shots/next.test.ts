import { describe, expect, it } from 'vitest';
import type { ShotSummary, Submission } from '$lib/api';
import { nextStep } from './next';

const quota = { granted: 16, sent: 9, returned: 0, left: 7, waiting: 1, pegs: [] };

function shot(state: Submission['state'] | null, extra: Partial<Submission> = {}, open = 2): ShotSummary {
  const submission: Submission = {
    id: 'u',
    shot_id: 's',
    revision_id: 'r',
    number: 2,
    stage: 'spline',
    words: '',
    state: state ?? 'waiting',
    sent_at: '2026-11-24T10:00:00Z',
    promised_on: '2026-12-08',
    opened_at: null,
    released_at: null,
    return_reason: null,
    critique_id: null,
    quota,
    ...extra,
  };
  return {
    id: 's',
    title: 'Lantern jump',
    enrolment_id: 'e',
    course: { id: 'c', name: 'Body' },
    student: { id: 'p', name: 'Imre V.' },
    first_frame: 1,
    open_concerns: open,
    revisions:
      state === null
        ? []
        : [{ id: 'r', number: 2, stage: 'spline', footage_id: 'f', footage_state: 'ready', frames: 96, submission }],
  };
}

describe('nextStep', () => {
  const at = (...args: Parameters<typeof shot>) => nextStep(shot(...args), '2026-11-25');

  it('begins with sending', () => {
    expect(at(null).link?.href).toBe('/send?shot=s');
  });
  it('waits while the mentor has it, and names the promised day', () => {
    for (const state of ['waiting', 'opened'] as const) {
      expect(at(state).link).toBeNull();
      expect(at(state).words).toContain('Tuesday 8 December');
    }
  });
  it('leads to the critique once it is released', () => {
    const step = at('released', { critique_id: 'k' });
    expect(step.link?.href).toBe('/read/k');
    expect(step.words).toBe('2 concerns open. Rework it, then send r3.');
    expect(at('released', { critique_id: 'k' }, 0).words).toBe('Nothing is open after r2.');
  });
  it('says why it came back', () => {
    expect(at('returned', { return_reason: 'the file ends in the middle' }).words).toContain(
      'the file ends in the middle',
    );
    expect(at('withdrawn').link?.name).toBe('Send it again');
  });
});
