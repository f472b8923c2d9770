import { describe, expect, it } from 'vitest';
import type { RefrainHabit } from '$lib/api';
import { cautions, clearingWords, countWords, habitName, rateWords, sorted } from './habits';

const habit: RefrainHabit = {
  principle: 'spacing',
  area: 'arm',
  with_it: 3,
  shots: 4,
  rate: 0.5,
  low: 0.213356,
  high: 0.666459,
  school: 0.25,
  above_school: 0.961458,
  caution: null,
  in_shots: [],
  clearing: { concerns: 6, cleared_count: 4, middle: 2, caution: null },
  school_clearing: { concerns: 40, cleared_count: 30, middle: 3, caution: null },
};

describe('habits in words', () => {
  it('counts shots beside the school, and leaves the school out while it is not known', () => {
    expect(habitName(habit)).toBe('Spacing, arm');
    expect(countWords(habit, true)).toBe("3 of 4 shots; the school's middle is 1 of 4");
    expect(countWords(habit, false)).toBe('3 of 4 shots');
    expect(countWords({ ...habit, with_it: 1, shots: 1 }, true)).toBe("1 of 1 shot; the school's middle is 0.3 of 1");
  });

  it('says where the share lies and how sure it is', () => {
    expect(rateWords(habit, true)).toBe(
      "Nine times of ten the share lies between 21 and 67 %, above the school's middle (96 % sure).",
    );
    expect(rateWords({ ...habit, above_school: 0.1 }, true)).toContain("below the school's middle (90 % sure)");
    expect(rateWords({ ...habit, above_school: 0.5 }, true)).toContain('too near');
    expect(rateWords(habit, false)).not.toContain('school');
  });

  it('says how long it takes to clear, and what is not known', () => {
    expect(clearingWords(habit.clearing!, habit.school_clearing)).toBe(
      'Half of such notes were cleared within 2 revisions; in the school within 3 revisions.',
    );
    const open = { concerns: 3, cleared_count: 0, middle: null, caution: null };
    expect(clearingWords(open, null)).toBe('None of 3 notes is cleared yet.');
    expect(clearingWords({ ...open, concerns: 1 }, null)).toBe('The one note is still open.');
    expect(clearingWords({ ...open, cleared_count: 1 }, open)).toBe(
      '1 of 3 notes cleared so far; in the school more than half stay open as far as they were followed.',
    );
  });

  it('says that numbers are small', () => {
    expect(cautions(habit)).toBe('');
    expect(cautions({ ...habit, caution: 'few shots yet' })).toBe('Few shots yet.');
    const few = { concerns: 2, cleared_count: 1, middle: 1, caution: 'few concerns yet' };
    expect(cautions({ ...habit, clearing: few })).toBe('Few concerns yet.');
    expect(cautions({ ...habit, clearing: { ...few, middle: null } })).toBe('');
  });

  it('calls what was noted in one shot no habit', () => {
    const once = { ...habit, with_it: 1 };
    expect(sorted([habit, once])).toEqual({ habits: [habit], once: [once] });
  });
});
