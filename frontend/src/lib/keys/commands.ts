/** Everything a key can do on the pages that show footage. What is held with ctrl also works while typing. */
export const COMMANDS = {
  back: { code: 'KeyA', does: 'one frame back', group: 'Frames' },
  on: { code: 'KeyD', does: 'one frame on', group: 'Frames' },
  above: { code: 'KeyW', does: 'the mark above', group: 'Frames' },
  below: { code: 'KeyS', does: 'the mark below', group: 'Frames' },
  play: { code: 'Space', does: 'play, stop', group: 'Playing' },
  reverse: { code: 'KeyR', does: 'play backwards, stop', group: 'Playing' },
  slower: { code: 'Minus', does: 'slower', group: 'Playing' },
  faster: { code: 'Equal', does: 'faster', group: 'Playing' },
  loop: { code: 'KeyX', does: 'loop the span', group: 'Playing' },
  span: { code: 'KeyQ', does: 'span from here; again: to here', group: 'Notes' },
  note: { code: 'KeyF', does: 'new note', group: 'Notes' },
  write: { code: 'Enter', does: 'write in the note on the slip', group: 'Notes' },
  take: { code: 'Control+Enter', does: 'take what is suggested; also while writing', group: 'Notes' },
  carried: { code: 'Tab', does: 'next carried concern', group: 'Notes' },
  still: { code: 'Digit1', does: 'verdict: still there', group: 'Notes' },
  eased: { code: 'Digit2', does: 'verdict: eased', group: 'Notes' },
  cleared: { code: 'Digit3', does: 'verdict: cleared', group: 'Notes' },
  aside: { code: 'Digit4', does: 'verdict: set aside', group: 'Notes' },
  pen: { code: 'KeyG', does: 'pen on, off', group: 'Drawing' },
  dots: { code: 'KeyT', does: 'dots by hand on, off', group: 'Drawing' },
  region: { code: 'KeyE', does: 'drag a region for the note', group: 'Drawing' },
  undo: { code: 'KeyZ', does: 'take the last drawing back', group: 'Drawing' },
  compare: { code: 'KeyC', does: 'compare with an earlier revision', group: 'Picture' },
  ghosts: { code: 'KeyH', does: 'ghosts of neighbouring frames', group: 'Picture' },
  hide: { code: 'KeyV', does: 'hide all marks', group: 'Picture' },
  brighten: { code: 'KeyB', does: 'brighten a dark picture', group: 'Picture' },
  mirror: { code: 'KeyM', does: 'mirror', group: 'Picture' },
  fit: { code: 'Digit0', does: 'fit the picture', group: 'Picture' },
} as const satisfies Record<string, { code: string; does: string; group: string }>;

export type Command = keyof typeof COMMANDS;

export const commandNames = Object.keys(COMMANDS) as Command[];

/** Keys that always do the same, whatever else a person sets. */
export const ALTERNATES: Record<string, Command> = {
  ArrowLeft: 'back',
  ArrowRight: 'on',
  ArrowUp: 'above',
  ArrowDown: 'below',
  Enter: 'write',
};
