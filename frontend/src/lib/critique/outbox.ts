import {
  NetworkError,
  ProblemError,
  type NoteDraft,
  type ShownSuggestions,
  type Stroke,
  type Trace,
  type Verdict,
} from '$lib/api';

/** A note as a person writes it; the version is the outbox's business. */
export type NoteContent = Required<Omit<NoteDraft, 'version'>>;

/** One thing a person has changed. */
export type Change =
  | { sort: 'note'; id: string; body: NoteContent | null }
  | { sort: 'verdict'; id: string; body: Verdict | null }
  | { sort: 'stroke'; id: string; body: Stroke | null }
  | { sort: 'trace'; id: string; body: Trace | null }
  | { sort: 'summary'; id: string; body: string }
  /** Suggestions that stood before the mentor, by the id of the note they were for. */
  | { sort: 'shown'; id: string; body: ShownSuggestions };

export const keyOf = (change: Change): string => `${change.sort}:${change.id}`;

/** A change on its way. */
export interface Entry {
  change: Change;
  /** Version of the row this change was made on; null for rows that have none. */
  base: number;
  /** What was sent last without an answer: it may have arrived. */
  sent?: string;
}

/** Where entries outlive the page. Synchronous, so that a change made is a change kept. */
export interface Keep {
  read(): Entry[];
  write(key: string, entry: Entry): boolean;
  remove(key: string): void;
}

/** Sends one change; resolves with the row's new version and the row itself. */
export type Send = (change: Change, version: number) => Promise<{ version: number; row: unknown }>;

/** A row was changed elsewhere meanwhile. Both are shown to the person; nothing is sent until they decide. */
export interface Conflict {
  key: string;
  mine: Change;
  theirs: unknown;
  theirVersion: number;
}

/** A change the server will not take. It stays until the person lets it go. */
export interface Refusal {
  key: string;
  change: Change;
  problem: ProblemError;
}

export interface OutboxEvents {
  /** A change arrived; `row` is the server's, `newer` is true when a newer change of the same row waits. */
  arrived(change: Change, row: unknown, newer: boolean): void;
  /** Counts, conflicts or refusals changed. */
  changed(): void;
}

const RETRY_MS = [1000, 2000, 4000, 8000, 15000];
/** Typing is sent when it rests this long. */
const REST_MS = 500;

/**
 * Changes on their way to the server. Each row has at most one change waiting: the newest. Rows are sent in the
 * order they were first changed (a note before the strokes that belong to it), one at a time, until the server has answered; a dead connection only delays them.
 */
export class Outbox {
  readonly #entries = new Map<string, Entry>();
  readonly #versions = new Map<string, number>();
  readonly conflicts = new Map<string, Conflict>();
  readonly refusals = new Map<string, Refusal>();
  #sending = false;
  #failures = 0;
  #timer?: ReturnType<typeof setTimeout>;
  /** False when the browser has no room to keep changes over a reload. */
  durable = true;

  constructor(
    private readonly keep: Keep,
    private readonly send: Send,
    private readonly events: OutboxEvents,
  ) {}

  /** Changes an earlier page left behind. They are on their way again. */
  adopt(): Change[] {
    for (const entry of this.keep.read()) {
      const key = keyOf(entry.change);
      this.#entries.set(key, entry);
      this.#versions.set(key, entry.base);
    }
    this.#plan(0);
    return [...this.#entries.values()].map((entry) => entry.change);
  }

  /** The version of a row as it was loaded. */
  know(key: string, version: number): void {
    if (!this.#entries.has(key)) this.#versions.set(key, version);
  }

  put(change: Change, now = false): void {
    const key = keyOf(change);
    const before = this.#entries.get(key);
    const entry: Entry = { change, base: this.#versions.get(key) ?? 0, sent: before?.sent };
    this.#store(key, entry);
    this.refusals.delete(key);
    this.#plan(now ? 0 : REST_MS);
    this.events.changed();
  }

  get waiting(): number {
    return this.#entries.size;
  }

  /** True while the server cannot be reached. */
  get unreached(): boolean {
    return this.#failures > 0;
  }

  /** The connection is back, or the person asks: try at once. */
  hurry(): void {
    this.#plan(0);
  }

  /** The person keeps their own version: it goes on top of the other one. */
  keepMine(key: string): void {
    const conflict = this.conflicts.get(key);
    if (!conflict) return;
    this.conflicts.delete(key);
    this.#versions.set(key, conflict.theirVersion);
    this.#store(key, { change: conflict.mine, base: conflict.theirVersion });
    this.#plan(0);
    this.events.changed();
  }

  /** The person takes the other version: theirs is let go. */
  takeTheirs(key: string): Conflict | undefined {
    const conflict = this.conflicts.get(key);
    if (!conflict) return undefined;
    this.conflicts.delete(key);
    this.#versions.set(key, conflict.theirVersion);
    this.#drop(key);
    this.events.changed();
    return conflict;
  }

  letGo(key: string): void {
    this.refusals.delete(key);
    this.#drop(key);
    this.events.changed();
  }

  close(): void {
    clearTimeout(this.#timer);
  }

  #store(key: string, entry: Entry): void {
    this.#entries.set(key, entry);
    this.durable = this.keep.write(key, entry);
  }

  #drop(key: string): void {
    this.#entries.delete(key);
    this.keep.remove(key);
  }

  #plan(delayMs: number): void {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => void this.#work(), delayMs);
  }

  #next(): [string, Entry] | undefined {
    for (const [key, entry] of this.#entries)
      if (!this.conflicts.has(key) && !this.refusals.has(key)) return [key, entry];
    return undefined;
  }

  async #work(): Promise<void> {
    if (this.#sending) return;
    this.#sending = true;
    try {
      for (let next = this.#next(); next; next = this.#next()) if (!(await this.#try(...next))) break;
    } finally {
      this.#sending = false;
      this.events.changed();
    }
  }

  /** Sends one entry; false when the line must wait. */
  async #try(key: string, entry: Entry): Promise<boolean> {
    const body = JSON.stringify(entry.change.body);
    const version = this.#versions.get(key) ?? entry.base;
    if (entry.sent !== body) this.#store(key, (entry = { ...entry, sent: entry.sent ?? body }));
    try {
      const answer = await this.send(entry.change, version);
      this.#failures = 0;
      this.#arrived(key, entry, answer);
      return true;
    } catch (failure) {
      return this.#failed(key, entry, failure);
    }
  }

  #arrived(key: string, entry: Entry, answer: { version: number; row: unknown }): void {
    this.#versions.set(key, answer.version);
    const now = this.#entries.get(key);
    const newer = now !== undefined && now.change !== entry.change;
    if (newer) this.#store(key, { change: now.change, base: answer.version });
    else this.#drop(key);
    this.events.arrived(entry.change, answer.row, newer);
  }

  #failed(key: string, entry: Entry, failure: unknown): boolean {
    if (failure instanceof ProblemError && failure.code === 'stale') {
      this.#stale(key, entry, failure.problem.current);
      return true;
    }
    const passing =
      failure instanceof NetworkError ||
      (failure instanceof ProblemError &&
        (failure.problem.status >= 500 || failure.problem.status === 429 || failure.code === 'sign-in-required'));
    if (passing || !(failure instanceof ProblemError)) {
      const wait = failure instanceof ProblemError && failure.retryAfter ? failure.retryAfter * 1000 : undefined;
      this.#plan(wait ?? RETRY_MS[Math.min(this.#failures, RETRY_MS.length - 1)]);
      this.#failures++;
      return false;
    }
    this.#failures = 0;
    this.refusals.set(key, { key, change: entry.change, problem: failure });
    return true;
  }

  /** The row has moved on. If what is there is what this page itself sent, the answer was lost, and nothing else. */
  #stale(key: string, entry: Entry, theirs: unknown): void {
    this.#failures = 0;
    const theirVersion = versionOf(theirs);
    if (entry.sent !== undefined && isSame(entry.change, entry.sent, theirs)) {
      this.#versions.set(key, theirVersion);
      const mine = this.#entries.get(key)?.change ?? entry.change;
      this.#store(key, { change: mine, base: theirVersion });
      return;
    }
    const mine = this.#entries.get(key)?.change ?? entry.change;
    this.conflicts.set(key, { key, mine, theirs, theirVersion });
  }
}

/** A verdict as the server refuses a stale one with. */
interface GivenVerdict {
  verdict: Verdict;
  version: number;
}

/** The verdict in a row of the server; null when none is given. */
export const verdictOf = (row: unknown): Verdict | null => (row as GivenVerdict | null | undefined)?.verdict ?? null;

const versionOf = (row: unknown): number => (row as { version?: number } | null | undefined)?.version ?? 0;

/** Whether a row of the server holds exactly what was sent. */
function isSame(change: Change, sent: string, row: unknown): boolean {
  const body = JSON.parse(sent) as Change['body'];
  if (change.sort === 'verdict') return verdictOf(row) === body;
  if (change.sort === 'summary') return (row as { summary?: string })?.summary === body;
  if (!row || !body || typeof body !== 'object') return false;
  const theirs = row as Record<string, unknown>;
  // A note that is not tied gets a concern of its own: null was sent, an id is there.
  return Object.entries(body).every(
    ([field, value]) =>
      (field === 'concern_id' && value === null) || JSON.stringify(theirs[field]) === JSON.stringify(value),
  );
}
