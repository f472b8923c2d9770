import { ghostOutline, greyOf, type GhostPattern, type Grey } from './ghost';

/** Ghosts are drawn at most this wide: outlines stay fine and stay cheap. */
const MAX_WIDTH = 640;
const KEPT_GREYS = 24;

export interface GhostColours {
  earlier: string;
  later: string;
}

/** One neighbouring frame to show as outlines over the picture. */
export interface Ghost {
  frame: number;
  picture: CanvasImageSource;
}

/** Draws neighbouring frames as outlines; keeps what it has worked out for the frames around. */
export class GhostPainter {
  readonly #greys = new Map<number, Grey>();
  readonly #canvas: OffscreenCanvas;
  readonly #ctx: OffscreenCanvasRenderingContext2D;

  constructor(pictureWidth: number, pictureHeight: number) {
    const scale = Math.min(1, MAX_WIDTH / pictureWidth);
    this.#canvas = new OffscreenCanvas(Math.round(pictureWidth * scale), Math.round(pictureHeight * scale));
    const ctx = this.#canvas.getContext('2d', { willReadFrequently: true });
    if (!ctx) throw new Error('this browser gives no canvas');
    this.#ctx = ctx;
  }

  /** Draws the ghosts where the picture fills the square (0,0)..(1,1) of `ctx`. */
  paint(ctx: CanvasRenderingContext2D, now: Ghost, neighbours: readonly Ghost[], colours: GhostColours): void {
    const here = this.#grey(now);
    for (const ghost of neighbours) {
      const earlier = ghost.frame < now.frame;
      const pattern: GhostPattern = earlier ? 'dashed' : 'dotted';
      const alpha = ghostOutline(here, this.#grey(ghost), pattern);
      this.#tint(alpha, earlier ? colours.earlier : colours.later, fade(Math.abs(ghost.frame - now.frame)));
      ctx.drawImage(this.#canvas, 0, 0, 1, 1);
    }
  }

  #grey({ frame, picture }: Ghost): Grey {
    const known = this.#greys.get(frame);
    if (known) return known;
    const { width, height } = this.#canvas;
    this.#ctx.globalCompositeOperation = 'copy';
    this.#ctx.drawImage(picture, 0, 0, width, height);
    const grey = greyOf(this.#ctx.getImageData(0, 0, width, height));
    this.#greys.set(frame, grey);
    if (this.#greys.size > KEPT_GREYS) this.#greys.delete(this.#greys.keys().next().value as number);
    return grey;
  }

  #tint(alpha: Uint8ClampedArray, colour: string, strength: number): void {
    const { width, height } = this.#canvas;
    const image = this.#ctx.createImageData(width, height);
    for (let i = 0, p = 3; i < alpha.length; i++, p += 4) image.data[p] = alpha[i] * strength;
    this.#ctx.putImageData(image, 0, 0);
    this.#ctx.globalCompositeOperation = 'source-in';
    this.#ctx.fillStyle = colour;
    this.#ctx.fillRect(0, 0, width, height);
  }
}

/** A frame farther away is fainter. */
const fade = (distance: number): number => 1 / (0.5 + distance / 2);
