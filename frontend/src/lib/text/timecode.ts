/** Frames a second as the footage gives them, `num / den`. */
export interface Rate {
  num: number;
  den: number;
}

/** Frame numbers left out at the start of every minute but each tenth, at 30 frames a second counted for 29.97. */
const DROPPED_AT_30 = 2;
const SECONDS_A_DAY = 24 * 60 * 60;

/** Rates of 30000/1001 and its multiples: their timecode leaves numbers out so that it keeps up with the clock. */
function droppedAMinute({ num, den }: Rate): number {
  const nominal = Math.round(num / den);
  const slowed = num * 1001 === den * nominal * 1000;
  return slowed && nominal % 30 === 0 ? (DROPPED_AT_30 * nominal) / 30 : 0;
}

/**
 * The time address of a frame counted from 00:00:00:00, as SMPTE ST 12-1 counts: drop-frame (with a semicolon) at 29.97
 * and its multiples, otherwise every number in its turn. It begins anew after a day.
 */
export function timecode(frame: number, rate: Rate): string {
  const nominal = Math.round(rate.num / rate.den);
  const dropped = droppedAMinute(rate);
  const aMinute = nominal * 60 - dropped;
  const tenMinutes = nominal * 600 - 9 * dropped;
  const within = frame % ((SECONDS_A_DAY / 600) * tenMinutes);
  const tens = Math.floor(within / tenMinutes);
  const rest = within % tenMinutes;
  // The first minute of each ten has all its numbers.
  const minutes = rest < nominal * 60 ? 0 : 1 + Math.floor((rest - nominal * 60) / aMinute);
  const number = within + dropped * (9 * tens + minutes);
  return addressOf(number, nominal, dropped > 0 ? ';' : ':');
}

const two = (value: number): string => (value < 10 ? `0${value}` : String(value));

function addressOf(number: number, nominal: number, separator: string): string {
  const seconds = Math.floor(number / nominal);
  const minutes = Math.floor(seconds / 60);
  return `${two(Math.floor(minutes / 60))}:${two(minutes % 60)}:${two(seconds % 60)}${separator}${two(number % nominal)}`;
}
