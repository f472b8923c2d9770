import { describe, expect, it } from 'vitest';
import type { DeskRow } from '$lib/api';
import { deskWords, knownBefore } from './known';

const quota = { granted: 16, sent: 4, returned: 0, left: 12, waiting: 1, pegs: [] };

function row(extra: Partial<DeskRow> = {}): DeskRow {
  return {
    submission: {
      id: 'u',
      shot_id: 's',
      revision_id: 'r',
      number: 4,
      stage: 'spline',
      words: '',
      state: 'waiting',
      sent_at: '2026-11-03T10:00:00Z',
      promised_on: '2026-11-17',
      opened_at: null,
      released_at: null,
      return_reason: null,
      critique_id: null,
      quota,
    },
    shot: { id: 's', name: 'Lantern jump' },
    student: { id: 'p', name: 'Imre V.' },
    course: { id: 'c', name: 'Body mechanics' },
    revision: 4,
    footage: { id: 'f', state: 'ready', progress: 1, frames: 96, strip: null },
    late_days: -3,
    days_since_last: 41,
    last_seen_at: null,
    concerns_open: 7,
    is_new: false,
    drafted_notes: 0,
    stage_changed_from: null,
    ...extra,
  };
}

describe('knownBefore', () => {
  it('tells the stage, what is open and how long ago the last one was', () => {
    expect(knownBefore(row())).toEqual(['spline', '7 concerns open', '41 days since the last one']);
  });
  it('says less than a day, not no days', () => {
    expect(knownBefore(row({ days_since_last: 0 }))).toContain('less than a day since the last one');
  });
  it('puts a draft begun and a changed stage first', () => {
    expect(knownBefore(row({ drafted_notes: 2, stage_changed_from: 'blocking' })).slice(0, 2)).toEqual([
      'draft begun, 2 notes',
      'from blocking to spline',
    ]);
  });
  it('says when there is nothing before', () => {
    expect(knownBefore(row({ days_since_last: null, concerns_open: 0, is_new: true }))).toEqual([
      'new since you were here',
      'spline',
      'first you see of this shot',
    ]);
  });
});

it('sums up the desk', () => {
  expect(deskWords([row({ late_days: 2 }), row({ late_days: 0 }), row()])).toBe(
    '3 submissions wait for you, 1 is late, 1 is due today.',
  );
  expect(deskWords([row()])).toBe('1 submission waits for you.');
});
