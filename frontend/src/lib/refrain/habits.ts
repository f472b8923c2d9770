import type { HabitClearing, RefrainHabit } from '$lib/api';
import { capital, count } from '$lib/text';

/** Noted in fewer shots it is no habit yet. */
const HABIT_SHOTS = 2;
/** Surer than this is told apart from the school's middle. */
const SURE = 0.8;

/** Habits, and what was noted in one shot alone. */
export function sorted(all: readonly RefrainHabit[]): { habits: RefrainHabit[]; once: RefrainHabit[] } {
  return {
    habits: all.filter((habit) => habit.with_it >= HABIT_SHOTS),
    once: all.filter((habit) => habit.with_it < HABIT_SHOTS),
  };
}

/** "Spacing, arm". */
export function habitName({ principle, area }: RefrainHabit): string {
  return `${capital(principle)}, ${area}`;
}

/** "3 of 4 shots; the school's middle is 1 of 4". */
export function countWords(habit: RefrainHabit, schoolKnown: boolean): string {
  const own = `${habit.with_it} of ${count(habit.shots, 'shot')}`;
  if (!schoolKnown) return own;
  return `${own}; the school's middle is ${tenths(habit.school * habit.shots)} of ${habit.shots}`;
}

/** Where the share of shots lies, and on which side of the school's middle. */
export function rateWords(habit: RefrainHabit, schoolKnown: boolean): string {
  const range = `Nine times of ten the share lies between ${percent(habit.low)} and ${percent(habit.high)} %`;
  return schoolKnown ? `${range}, ${beside(habit.above_school)}.` : `${range}.`;
}

function beside(above: number): string {
  if (above >= SURE) return `above the school's middle (${percent(above)} % sure)`;
  if (above <= 1 - SURE) return `below the school's middle (${percent(1 - above)} % sure)`;
  return `too near the school's middle to tell`;
}

/** How long such concerns take to clear. */
export function clearingWords(own: HabitClearing, school: HabitClearing | null): string {
  return [ownClearing(own), schoolClearing(school)].filter(Boolean).join('; ') + '.';
}

function ownClearing({ concerns, cleared_count: cleared, middle }: HabitClearing): string {
  if (middle !== null) return `Half of such notes were cleared within ${revisions(middle)}`;
  if (cleared === 0)
    return `${concerns === 1 ? 'The one note' : `None of ${concerns} notes`} ${concerns === 1 ? 'is still open' : 'is cleared yet'}`;
  return `${cleared} of ${count(concerns, 'note')} cleared so far`;
}

function schoolClearing(school: HabitClearing | null): string {
  if (!school) return '';
  if (school.middle === null) return `in the school more than half stay open as far as they were followed`;
  return `in the school within ${revisions(school.middle)}`;
}

/** What to be careful about; small numbers say so. */
export function cautions(habit: RefrainHabit): string {
  const clearing = habit.clearing?.middle == null ? null : habit.clearing.caution;
  const said = [habit.caution, clearing].filter((words): words is string => Boolean(words));
  return said.map((words) => `${capital(words)}.`).join(' ');
}

function revisions(middle: number): string {
  return middle === 0 ? 'the same revision' : count(middle, 'revision');
}

function percent(share: number): string {
  return String(Math.round(share * 100));
}

function tenths(value: number): string {
  return String(Math.round(value * 10) / 10);
}
