/** Something done to the drawing that can be taken back. */
export interface Deed {
  name: string;
  undo(): void;
}

const LONGEST = 200;

/** What was done, newest last. */
export class History {
  #deeds: Deed[] = [];

  did(deed: Deed): void {
    this.#deeds.push(deed);
    if (this.#deeds.length > LONGEST) this.#deeds.shift();
  }

  /** Takes the newest deed back; its name, or null when there is none. */
  undo(): string | null {
    const deed = this.#deeds.pop();
    deed?.undo();
    return deed?.name ?? null;
  }

  get length(): number {
    return this.#deeds.length;
  }
}
