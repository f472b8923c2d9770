/** Days and times in words. Days are `YYYY-MM-DD` in the school's zone; instants are ISO 8601 in UTC. */

const LANGUAGE = 'en-GB';
const DAY_MS = 86_400_000;

/** Day of an instant in a time zone, as `YYYY-MM-DD`. */
export function dayOf(instant: string | Date, zone: string): string {
  const parts = new Intl.DateTimeFormat(LANGUAGE, {
    timeZone: zone,
    year: 'numeric',
    month: '2-digit',
    day: '2-digit',
  }).formatToParts(new Date(instant));
  const part = (type: string) => parts.find((p) => p.type === type)?.value ?? '';
  return `${part('year')}-${part('month')}-${part('day')}`;
}

/** Whole days from one day to another; negative when `to` is earlier. */
export function daysBetween(from: string, to: string): number {
  return Math.round((Date.parse(`${to}T00:00:00Z`) - Date.parse(`${from}T00:00:00Z`)) / DAY_MS);
}

function write(day: string, options: Intl.DateTimeFormatOptions, today: string): string {
  const year = day.slice(0, 4) === today.slice(0, 4) ? undefined : 'numeric';
  return new Intl.DateTimeFormat(LANGUAGE, { ...options, year, timeZone: 'UTC' })
    .format(new Date(`${day}T12:00:00Z`))
    .replace(',', '')
    .replace('Sept ', 'Sep ')
    .replace(/Sept$/, 'Sep');
}

/** "Tuesday 8 December"; with its year when that is not today's. */
export function longDay(day: string, today: string): string {
  return write(day, { weekday: 'long', day: 'numeric', month: 'long' }, today);
}

/** "8 Dec"; with its year when that is not today's. */
export function shortDay(day: string, today: string): string {
  return write(day, { day: 'numeric', month: 'short' }, today);
}

/** "today", "yesterday", "41 days ago". */
export function daysAgo(day: string, today: string): string {
  const days = daysBetween(day, today);
  if (days <= 0) return 'today';
  return days === 1 ? 'yesterday' : `${days} days ago`;
}

/** "8 Dec, 14:03" in a time zone. */
export function shortTime(instant: string, zone: string, today: string): string {
  const time = new Intl.DateTimeFormat(LANGUAGE, { timeZone: zone, hour: '2-digit', minute: '2-digit' });
  return `${shortDay(dayOf(instant, zone), today)}, ${time.format(new Date(instant))}`;
}

/** How a promise stands: "2 days late", "due today", "3 days left". */
export function promiseWords(lateDays: number): string {
  if (lateDays > 0) return `${count(lateDays, 'day')} late`;
  return lateDays === 0 ? 'due today' : `${count(-lateDays, 'day')} left`;
}

/** Whole days from the revision before to this one: "41 days since the last one", "less than a day since the last one". */
export function sinceLast(days: number): string {
  return `${days === 0 ? 'less than a day' : count(days, 'day')} since the last one`;
}

/** "1 shot", "3 shots", "no shots". */
export function count(number: number, one: string, many = `${one}s`): string {
  if (number === 0) return `no ${many}`;
  return `${number} ${number === 1 ? one : many}`;
}
