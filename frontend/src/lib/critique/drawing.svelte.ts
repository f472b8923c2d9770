import type { Note, Trace } from '$lib/api';
import { DotTool, History, PENCIL_SIZES, PenTool, RegionTool, withDot, type Command, type Tool } from '$lib/scene';
import type { Draft } from './draft.svelte';
import { randomId } from './id';
import { pencilColour } from './preferences';
import type { Viewer } from './viewer.svelte';

export type ToolName = 'pen' | 'dots' | 'region';

/** A path of dots stays in sight this many frames before and after it. */
const TRACE_LINGERS = 6;

/** The tool in hand, and what was drawn with it and can be taken back. */
export class Drawing {
  toolName = $state<ToolName | null>(null);
  pencilSize = $state<number>(PENCIL_SIZES[1]);
  /** Strokes are held over the span instead of one frame. */
  holding = $state(false);
  #trace = $state<string | null>(null);
  readonly #history = new History();

  readonly tool = $derived.by<Tool | null>(() => {
    if (this.toolName === 'pen') return new PenTool(this.#pencil);
    if (this.toolName === 'region') return new RegionTool();
    return this.toolName === 'dots' ? new DotTool() : null;
  });

  constructor(
    private readonly draft: Draft,
    private readonly viewer: Viewer,
    /** The note of today on the slip. */
    private readonly note: () => Note | undefined,
  ) {}

  readonly #pencil = {
    id: () => randomId(),
    frame: () => this.viewer.frame,
    holdTo: () => this.#heldTo(),
    noteId: () => this.note()?.id ?? null,
    color: pencilColour,
    size: () => this.pencilSize,
  };

  #heldTo(): number {
    const span = this.note()?.span ?? this.viewer.span;
    const { frame } = this.viewer;
    return this.holding && span && span.start <= frame && frame <= span.end ? span.end : frame;
  }

  /** Dots that belong to the frame now shown, or to those around it. */
  get tracesHere(): readonly Trace[] {
    const { frame } = this.viewer;
    return this.draft.traces.filter(({ dots }) => {
      const frames = dots.map((dot) => dot.frame);
      return frame >= Math.min(...frames) - TRACE_LINGERS && frame <= Math.max(...frames) + TRACE_LINGERS;
    });
  }

  take(tool: ToolName): void {
    if (!this.draft.editable) return;
    this.viewer.stop();
    this.toolName = this.toolName === tool ? null : tool;
    this.#trace = null;
  }

  /** What a finished gesture on the picture asks for. */
  do(command: Command): void {
    if (command.do === 'stroke') this.#drew(command.stroke);
    else if (command.do === 'dot') this.#dot(command.at);
    else this.#region(command.region);
  }

  #drew(stroke: Parameters<Draft['putStroke']>[0]): void {
    this.draft.putStroke(stroke);
    this.#history.did({ name: 'stroke', undo: () => this.draft.removeStroke(stroke.id) });
  }

  #region(region: Note['region']): void {
    const note = this.note();
    if (!note) return;
    const before = note.region;
    this.draft.editNote(note.id, { region });
    this.#history.did({ name: 'region', undo: () => this.draft.editNote(note.id, { region: before }) });
    this.toolName = null;
  }

  /** One click a frame: the dot is placed and the picture goes on. */
  #dot(at: { x: number; y: number }): void {
    const { draft, viewer } = this;
    const known = draft.traces.find((t) => t.id === this.#trace);
    const trace = known ?? { id: randomId(), part: this.note()?.parts[0] ?? null, color: pencilColour(), dots: [] };
    this.#trace = trace.id;
    const frame = viewer.frame;
    draft.putTrace(withDot(trace, { frame, x: at.x, y: at.y }));
    this.#history.did({
      name: 'dot',
      undo: () => {
        if (known) draft.putTrace(known);
        else draft.removeTrace(trace.id);
        viewer.show(frame);
      },
    });
    viewer.step(1);
  }

  removeTrace(trace: Trace): void {
    this.draft.removeTrace(trace.id);
    this.#history.did({ name: 'removing dots', undo: () => this.draft.putTrace(trace) });
  }

  /** Removes every stroke seen on this frame; undo brings them back one by one. */
  clearFrame(): void {
    const { draft, viewer } = this;
    for (const stroke of draft.strokes.filter((s) => s.frame <= viewer.frame && viewer.frame <= s.hold_to)) {
      draft.removeStroke(stroke.id);
      this.#history.did({ name: 'clearing', undo: () => draft.putStroke(stroke) });
    }
  }

  undo(): void {
    if (this.draft.editable) this.#history.undo();
  }
}
