import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ALTERNATES, COMMANDS, commandNames } from './commands';
import { codeOf, commandAt, isOwnKey, isTyping, keyName, withKey } from './keymap';

const element = (tagName: string, attributes: Record<string, string> = {}) => ({
  tagName,
  getAttribute: (name: string) => attributes[name] ?? null,
});

describe('keys', () => {
  it('are each used once', () => {
    expect(new Set(commandNames.map((c) => COMMANDS[c].code)).size).toBe(commandNames.length);
  });

  it('go by position, whatever is printed on them', () => {
    expect(commandAt('KeyA', {})).toBe('back');
    expect(keyName('KeyA', new Map([['KeyA', 'q']]))).toBe('q');
    expect(keyName('KeyA')).toBe('a');
    expect(keyName('Digit0')).toBe('0');
  });

  it('can be changed, and the alternates stay', () => {
    const change = withKey({}, 'note', 'KeyN');
    const own = 'keys' in change ? change.keys : {};
    expect(commandAt('KeyN', own)).toBe('note');
    expect(commandAt('KeyF', own)).toBeUndefined();
    for (const [code, command] of Object.entries(ALTERNATES)) expect(commandAt(code, own)).toBe(command);
  });

  it('refuse a key that does something else, or that belongs to the browser', () => {
    expect(withKey({}, 'note', 'KeyG')).toEqual({ taken: 'pen' });
    expect(withKey({}, 'note', 'Escape')).toEqual({ reserved: true });
    expect(withKey({}, 'note', 'ArrowLeft')).toEqual({ reserved: true });
  });

  it('stay without clashes however they are changed', () => {
    const steps = fc.array(
      fc.tuple(fc.constantFrom(...commandNames), fc.constantFrom('KeyA', 'KeyN', 'KeyP', 'Digit9', 'Space', 'KeyG')),
    );
    fc.assert(
      fc.property(steps, (changes) => {
        let own: Record<string, string> = {};
        for (const [command, code] of changes) {
          const change = withKey(own, command, code);
          if ('keys' in change) own = change.keys;
        }
        expect(new Set(commandNames.map((c) => codeOf(c, own))).size).toBe(commandNames.length);
      }),
    );
  });

  // WCAG 2.2, 2.1.4 Character Key Shortcuts: single keys must not fire while text is typed.
  it('are off while typing', () => {
    for (const target of [
      element('INPUT'),
      element('TEXTAREA'),
      element('SELECT'),
      element('INPUT', { type: 'number' }),
    ])
      expect(isTyping(target)).toBe(true);
    for (const target of [element('BUTTON'), element('INPUT', { type: 'radio' }), element('DIV'), null])
      expect(isTyping(target)).toBe(false);
  });

  it('leave space and enter to a focused button', () => {
    expect(isOwnKey(element('BUTTON'), 'Space')).toBe(true);
    expect(isOwnKey(element('BUTTON'), 'KeyA')).toBe(false);
    expect(isOwnKey(element('INPUT', { type: 'radio' }), 'ArrowDown')).toBe(true);
    expect(isOwnKey(element('DIV'), 'Space')).toBe(false);
  });
});
