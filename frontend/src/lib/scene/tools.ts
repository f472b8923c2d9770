import type { Stroke } from '$lib/api';
import { inside, rectBetween, type ScenePoint, type SceneRect } from '../geometry';
import { grained } from './stroke';
import type { Preview } from './draw';

/** A pointer on the picture. */
export interface Touch {
  at: ScenePoint;
  /** 0..1; half for what knows no pressure. */
  pressure: number;
  pen: boolean;
}

/** What a finished gesture asks for. */
export type Command =
  { do: 'stroke'; stroke: Stroke } | { do: 'region'; region: SceneRect } | { do: 'dot'; at: ScenePoint };

/** Turns one gesture of the pointer into a command. */
export interface Tool {
  down(touch: Touch): void;
  move(touches: readonly Touch[]): void;
  /** The command the gesture amounts to; null when it amounts to nothing. */
  up(): Command | null;
  cancel(): void;
  readonly preview: Preview;
}

/** How the next stroke is drawn. */
export interface Pencil {
  id(): string;
  frame(): number;
  holdTo(): number;
  noteId(): string | null;
  color(): string;
  size(): number;
}

const MAX_POINTS = 4000;
/** A region smaller than this, in picture widths or heights, is a slip of the hand. */
const SMALLEST_REGION = 0.01;

export class PenTool implements Tool {
  #stroke?: Stroke;

  constructor(private readonly pencil: Pencil) {}

  down(touch: Touch): void {
    const { pencil } = this;
    const [frame, hold_to] = [pencil.frame(), pencil.holdTo()];
    const stroke = { id: pencil.id(), frame, hold_to, note_id: pencil.noteId(), color: pencil.color() };
    this.#stroke = { ...stroke, size: pencil.size(), pen: touch.pen, points: [] };
    this.move([touch]);
  }

  move(touches: readonly Touch[]): void {
    if (!this.#stroke) return;
    for (const { at, pressure } of touches)
      if (this.#stroke.points.length < MAX_POINTS)
        this.#stroke.points.push([grained(at.x), grained(at.y), grained(pressure)]);
  }

  up(): Command | null {
    const stroke = this.#stroke;
    this.#stroke = undefined;
    return stroke?.points.length ? { do: 'stroke', stroke } : null;
  }

  cancel(): void {
    this.#stroke = undefined;
  }

  get preview(): Preview {
    return { stroke: this.#stroke };
  }
}

export class RegionTool implements Tool {
  #from?: ScenePoint;
  #to?: ScenePoint;

  down(touch: Touch): void {
    this.#from = this.#to = touch.at;
  }

  move(touches: readonly Touch[]): void {
    this.#to = touches.at(-1)?.at ?? this.#to;
  }

  up(): Command | null {
    const { region } = this.preview;
    this.cancel();
    const large = region && region.w >= SMALLEST_REGION && region.h >= SMALLEST_REGION;
    return large ? { do: 'region', region } : null;
  }

  cancel(): void {
    this.#from = this.#to = undefined;
  }

  get preview(): Preview {
    return this.#from && this.#to ? { region: rectBetween(this.#from, this.#to) } : {};
  }
}

export class DotTool implements Tool {
  #at?: ScenePoint;

  down(touch: Touch): void {
    this.#at = touch.at;
  }

  move(touches: readonly Touch[]): void {
    this.#at = touches.at(-1)?.at ?? this.#at;
  }

  up(): Command | null {
    const at = this.#at;
    this.#at = undefined;
    return at ? { do: 'dot', at: inside(at) } : null;
  }

  cancel(): void {
    this.#at = undefined;
  }

  readonly preview: Preview = {};
}
