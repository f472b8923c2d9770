import { client, ok } from '$lib/api';
import { session } from '$lib/session';
import type { Command } from './commands';
import { chordOf, codeOf, commandAt, isHeld, isOwnKey, isTyping, keyName, withKey, type Change } from './keymap';

/** What the page does when a key is pressed; false hands the key back to the browser. */
export type Act = (command: Command, repeated: boolean) => boolean | void;

interface LayoutKeyboard {
  getLayoutMap(): Promise<ReadonlyMap<string, string>>;
}

/** The keys of the person signed in, and what is printed on them. */
class Keys {
  #layout = $state.raw<ReadonlyMap<string, string>>();
  /** The page with all keys is open. */
  shown = $state(false);

  get own(): Record<string, string> {
    return session.me?.preferences.keys ?? {};
  }

  name(command: Command): string {
    return keyName(codeOf(command, this.own), this.#layout);
  }

  async readLayout(): Promise<void> {
    const keyboard = (navigator as Navigator & { keyboard?: LayoutKeyboard }).keyboard;
    try {
      this.#layout = await keyboard?.getLayoutMap();
    } catch {
      this.#layout = undefined; // Not told: names of a plain Latin board are shown.
    }
  }

  /** Gives a command another key and keeps it with the person. */
  async change(command: Command, code: string): Promise<Change> {
    const change = withKey(this.own, command, code);
    if ('keys' in change) await this.#keep(change.keys);
    return change;
  }

  async restore(): Promise<void> {
    await this.#keep({});
  }

  async #keep(keys: Record<string, string>): Promise<void> {
    if (!session.me) return;
    session.enter(await ok(client.PUT('/me/preferences', { body: { ...session.me.preferences, keys } })));
  }

  /** Listens on the window until the returned function is called. */
  listen(act: Act): () => void {
    const pressed = (event: KeyboardEvent) => this.#pressed(event, act);
    window.addEventListener('keydown', pressed);
    void this.readLayout();
    return () => window.removeEventListener('keydown', pressed);
  }

  #pressed(event: KeyboardEvent, act: Act): void {
    const target = event.target instanceof Element ? event.target : null;
    const chord = chordOf(event);
    if (event.defaultPrevented || !chord || document.querySelector('dialog[open]')) return;
    const command = commandAt(chord, this.own);
    if (chord !== event.code) {
      if (command && isHeld(command) && !event.shiftKey && act(command, event.repeat) !== false) event.preventDefault();
      return;
    }
    if (isTyping(target) || isOwnKey(target, event.code)) return;
    if (event.key === '?') {
      this.shown = true;
      event.preventDefault();
      return;
    }
    if (event.shiftKey) return;
    if (command && act(command, event.repeat) !== false) event.preventDefault();
  }
}

export const keys = new Keys();
