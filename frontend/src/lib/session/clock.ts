import { dayOf } from '$lib/text';
import { session } from './session.svelte';

/** The time zone days are told in: the school's. */
export function zone(): string {
  return session.me?.school.time_zone ?? 'UTC';
}

/** Today in the school's zone, as `YYYY-MM-DD`. */
export function today(): string {
  return dayOf(new Date(), zone());
}
