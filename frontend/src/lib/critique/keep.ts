import type { Entry, Keep } from './outbox';

/** Entries of one critique in the browser's storage. */
export class BrowserKeep implements Keep {
  readonly #prefix: string;

  constructor(
    personId: string,
    critiqueId: string,
    private readonly storage: Storage = localStorage,
  ) {
    this.#prefix = `refrain.outbox.${personId}.${critiqueId}.`;
  }

  read(): Entry[] {
    const names = Array.from({ length: this.storage.length }, (_, i) => this.storage.key(i) ?? '');
    return names
      .filter((name) => name.startsWith(this.#prefix))
      .sort()
      .flatMap((name) => parsed(this.storage.getItem(name)));
  }

  write(key: string, entry: Entry): boolean {
    try {
      this.storage.setItem(this.#prefix + key, JSON.stringify(entry));
      return true;
    } catch {
      return false; // no room, or storage is refused: the page says that a reload would lose it
    }
  }

  remove(key: string): void {
    try {
      this.storage.removeItem(this.#prefix + key);
    } catch {
      // Storage that is refused holds nothing to remove.
    }
  }
}

function parsed(text: string | null): Entry[] {
  try {
    const entry = JSON.parse(text ?? '') as Entry;
    return entry?.change?.sort ? [entry] : [];
  } catch {
    return [];
  }
}
