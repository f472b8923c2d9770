/** Something that holds memory until it is closed: a decoded frame, a bitmap. */
export interface Held {
  close(): void;
}

/** The frames kept around the head. Past its capacity, the frame farthest from the head goes first. */
export class FrameWindow<T extends Held> {
  readonly #frames = new Map<number, T>();
  head = 0;

  constructor(readonly capacity: number) {}

  get size(): number {
    return this.#frames.size;
  }

  has(i: number): boolean {
    return this.#frames.has(i);
  }

  get(i: number): T | undefined {
    return this.#frames.get(i);
  }

  put(i: number, frame: T): void {
    this.#frames.get(i)?.close();
    this.#frames.set(i, frame);
    if (this.#frames.size > this.capacity) this.#drop(this.#farthest(i));
  }

  clear(): void {
    for (const i of [...this.#frames.keys()]) this.#drop(i);
  }

  #farthest(except: number): number {
    let far = except;
    let distance = -1;
    for (const i of this.#frames.keys()) {
      const d = Math.abs(i - this.head);
      if (i !== except && d > distance) [far, distance] = [i, d];
    }
    return far;
  }

  #drop(i: number): void {
    this.#frames.get(i)?.close();
    this.#frames.delete(i);
  }
}

/** How many frames fit a budget. Under two groups of pictures plus a few, stepping backwards thrashes. */
export function windowCapacity(budgetBytes: number, width: number, height: number, longestGroup: number): number {
  const frameBytes = Math.max(1, width * height * 1.5);
  return Math.max(8, 2 * longestGroup + 6, Math.floor(budgetBytes / frameBytes));
}
