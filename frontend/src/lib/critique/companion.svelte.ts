import type { EarlierRevision } from '$lib/api';
import { isCancelled } from '$lib/player';
import { BackMap } from './framemap';
import { Viewer } from './viewer.svelte';

/** Memory each of two revisions may take when both are open. */
const HALF_BUDGET = 128 << 20;

/** An earlier revision opened beside today's, following it through the frame map. */
export class Companion {
  readonly map: BackMap;
  readonly viewer: Viewer;
  /** Frame of the earlier revision last handed out. */
  frame = $state(0);
  #wanted?: AbortController;

  constructor(readonly revision: EarlierRevision) {
    this.map = new BackMap(revision.map);
    this.viewer = new Viewer(revision.footage);
    void this.viewer.open(HALF_BUDGET);
  }

  /** The earlier picture that belongs to frame i of today, if it is at hand. */
  peek(i: number): CanvasImageSource | undefined {
    return this.viewer.beside(this.map.toOld(i));
  }

  /** The same, as soon as it can be had; undefined when another was asked for meanwhile. */
  async picture(i: number): Promise<CanvasImageSource | undefined> {
    const frame = this.map.toOld(i);
    this.#wanted?.abort();
    const wanted = (this.#wanted = new AbortController());
    try {
      const picture = await this.viewer.frameOf(frame, wanted.signal);
      this.frame = frame;
      return picture;
    } catch (error) {
      if (isCancelled(error)) return undefined;
      throw error;
    }
  }

  close(): void {
    this.#wanted?.abort();
    this.viewer.close();
  }
}
