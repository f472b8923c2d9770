import { ALTERNATES, COMMANDS, commandNames, type Command } from './commands';

/** A person's own keys: command to `KeyboardEvent.code`. Commands left out keep their usual key. */
export type OwnKeys = Readonly<Record<string, string>>;

/** The key of a command for this person. */
export const codeOf = (command: Command, own: OwnKeys): string => own[command] ?? COMMANDS[command].code;

/** What a key does for this person. */
export function commandAt(code: string, own: OwnKeys): Command | undefined {
  return commandNames.find((command) => codeOf(command, own) === code) ?? ALTERNATES[code];
}

export type Change =
  | { keys: Record<string, string> }
  | { taken: Command }
  | { reserved: true }
  /** Only a key held with ctrl, or only one without, can do this. */
  | { held: boolean };

const HELD = 'Control+';

/** Whether a command is given with ctrl held, so that it works while typing too. */
export const isHeld = (command: Command): boolean => COMMANDS[command].code.startsWith(HELD);

/** A key as it is pressed: its code, with ctrl (or the command key of a Mac) before it; none if it is pressed otherwise. */
export function chordOf(event: Pick<KeyboardEvent, 'code' | 'ctrlKey' | 'metaKey' | 'altKey'>): string | undefined {
  if (event.altKey) return undefined;
  return event.ctrlKey || event.metaKey ? HELD + event.code : event.code;
}

/** Keys that only change what others mean. */
export const isModifier = (code: string): boolean =>
  /^(Control|Shift|Alt|Meta|OS)/.test(code) && !code.startsWith(HELD);

/** Keys that must keep their meaning in every browser. */
const RESERVED = /^(Escape|F\d+|Meta|Control(?!\+)|Alt|Shift|OS|ContextMenu|CapsLock|Arrow)/;
/** With ctrl held, letters and digits belong to the browser and to the field. */
const RESERVED_HELD =
  /^Control\+(Key|Digit|Numpad|Tab|Minus|Equal|Page|Home|End|Backspace|Delete|Insert|Arrow|F\d|Escape)/;

/** Gives a command another key: the new keys, or why not. The usual key again is no own key at all. */
export function withKey(own: OwnKeys, command: Command, code: string): Change {
  if (RESERVED.test(code) || RESERVED_HELD.test(code)) return { reserved: true };
  if (code.startsWith(HELD) !== isHeld(command)) return { held: isHeld(command) };
  const taken = commandNames.find((other) => other !== command && codeOf(other, own) === code);
  if (taken) return { taken };
  const keys = { ...own, [command]: code };
  if (code === COMMANDS[command].code) delete keys[command];
  return { keys };
}

const NAMES: Record<string, string> = {
  Space: 'space',
  Tab: 'tab',
  Enter: 'enter',
  Minus: '-',
  Equal: '=',
  Comma: ',',
  Period: '.',
  Slash: '/',
  Semicolon: ';',
  Quote: "'",
  Backquote: '`',
  BracketLeft: '[',
  BracketRight: ']',
  Backslash: '\\',
};

/** What is printed on a key, where the browser knows the layout; else its name on a plain Latin board. */
export function keyName(code: string, layout?: ReadonlyMap<string, string>): string {
  if (code.startsWith(HELD)) return `ctrl ${keyName(code.slice(HELD.length), layout)}`;
  const printed = layout?.get(code);
  if (printed) return printed;
  return NAMES[code] ?? code.replace(/^(Key|Digit)/, '').toLowerCase();
}

/** Whether keys belong to what is being typed or chosen, and not to the page. */
export function isTyping(target: Pick<Element, 'tagName' | 'getAttribute'> | null): boolean {
  if (!target) return false;
  if (target.getAttribute('contenteditable') === 'true') return true;
  if (target.tagName === 'TEXTAREA' || target.tagName === 'SELECT') return true;
  const type = target.getAttribute('type') ?? 'text';
  return target.tagName === 'INPUT' && !/^(checkbox|radio|button|submit|range|color)$/.test(type);
}

/** Keys a focused control needs for itself. */
export function isOwnKey(target: Pick<Element, 'tagName' | 'getAttribute'> | null, code: string): boolean {
  if (!target) return false;
  const type = target.getAttribute('type');
  const pressable = /^(BUTTON|A|SUMMARY)$/.test(target.tagName) || type === 'checkbox' || type === 'radio';
  if (pressable && (code === 'Space' || code === 'Enter')) return true;
  return (type === 'radio' || type === 'range') && code.startsWith('Arrow');
}
