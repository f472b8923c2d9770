import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { NetworkError, ProblemError, type Problem } from '$lib/api';
import { BrowserKeep } from './keep';
import { Outbox, verdictOf, type Change, type NoteContent, type Send } from './outbox';

class MemoryStorage implements Storage {
  readonly map = new Map<string, string>();
  get length(): number {
    return this.map.size;
  }
  key = (i: number) => [...this.map.keys()][i] ?? null;
  getItem = (k: string) => this.map.get(k) ?? null;
  setItem = (k: string, v: string) => void this.map.set(k, v);
  removeItem = (k: string) => void this.map.delete(k);
  clear = () => this.map.clear();
}

const content = (words: string): NoteContent => ({
  kind: 'fix',
  urgency: 'should',
  principles: [],
  parts: [],
  span: { start: 1, end: 2 },
  region: null,
  words,
  ask: null,
  concern_id: null,
});
const note = (words: string): Change => ({ sort: 'note', id: 'n', body: content(words) });
const problem = (code: Problem['code'], status: number, current?: unknown) =>
  new ProblemError({ type: '', title: '', status, detail: '', code, current });

/** A server with rows and versions, as the contract has it. */
class Server {
  rows = new Map<string, { version: number; words: string }>();
  down = false;
  /** The next request arrives, its answer does not. */
  loseAnswer = false;
  sends: string[] = [];

  send: Send = async (change, version) => {
    if (this.down) throw new NetworkError('down');
    if (change.sort !== 'note' || !change.body) throw new Error('unexpected');
    const row = this.rows.get(change.id) ?? { version: 0, words: '' };
    this.sends.push(change.body.words);
    const repeated = row.version === version + 1 && row.words === change.body.words;
    if (!repeated) {
      if (row.version !== version) throw problem('stale', 409, { ...change.body, ...row, concern_id: 'k' });
      this.rows.set(change.id, { version: version + 1, words: change.body.words });
    }
    if (this.loseAnswer) {
      this.loseAnswer = false;
      throw new NetworkError('lost');
    }
    return { version: version + 1, row: this.rows.get(change.id) };
  };
}

describe('Outbox', () => {
  let server: Server;
  let storage: MemoryStorage;
  const open = () => {
    const outbox = new Outbox(new BrowserKeep('p', 'c', storage), server.send, {
      arrived: () => {},
      changed: () => {},
    });
    return outbox;
  };
  const settle = (ms = 60_000) => vi.advanceTimersByTimeAsync(ms);

  beforeEach(() => {
    vi.useFakeTimers();
    server = new Server();
    storage = new MemoryStorage();
  });
  afterEach(() => void vi.useRealTimers());

  it('sends what is typed once it rests, and only the last of it', async () => {
    const outbox = open();
    for (const words of ['T', 'Th', 'The hand']) outbox.put(note(words));
    await settle();
    expect(server.sends).toEqual(['The hand']);
    expect(outbox.waiting).toBe(0);
    expect(storage.length).toBe(0);
  });

  it('delivers after a dead connection and a reload', async () => {
    server.down = true;
    const first = open();
    first.put(note('The hand jumps'));
    await settle();
    expect(first.unreached).toBe(true);
    first.close();
    server.down = false;
    const second = open();
    expect(second.adopt()).toMatchObject([{ body: { words: 'The hand jumps' } }]);
    await settle();
    expect(server.rows.get('n')?.words).toBe('The hand jumps');
    expect(storage.length).toBe(0);
  });

  it('goes on from its own version when only the answer was lost', async () => {
    const outbox = open();
    server.loseAnswer = true;
    outbox.put(note('one'));
    await settle(600);
    outbox.put(note('one two'));
    await settle();
    expect(outbox.conflicts.size).toBe(0);
    expect(server.rows.get('n')).toEqual({ version: 2, words: 'one two' });
  });

  it('tells of a newer version from elsewhere, and loses neither', async () => {
    const outbox = open();
    outbox.put(note('mine'));
    await settle();
    server.rows.set('n', { version: 2, words: 'theirs' });
    outbox.put(note('mine, longer'));
    await settle();
    expect([...outbox.conflicts.values()]).toMatchObject([
      { mine: { body: { words: 'mine, longer' } }, theirs: { words: 'theirs' } },
    ]);
    expect(storage.length).toBe(1);
    outbox.keepMine('note:n');
    await settle();
    expect(server.rows.get('n')).toEqual({ version: 3, words: 'mine, longer' });
    expect(outbox.waiting).toBe(0);
  });

  it('sends a note before the strokes that belong to it, however often it is changed', async () => {
    server.down = true;
    const order: string[] = [];
    const send: Send = async (change, version) => {
      if (server.down) throw new NetworkError('down');
      order.push(change.sort);
      return { version: version + 1, row: null };
    };
    const outbox = new Outbox(new BrowserKeep('p', 'c', storage), send, { arrived: () => {}, changed: () => {} });
    const stroke = { id: 's', frame: 0, hold_to: 0, note_id: 'n', color: '#ffffff', size: 0.01, pen: true };
    outbox.put(note('first'));
    outbox.put({ sort: 'stroke', id: 's', body: { ...stroke, points: [] } }, true);
    outbox.put(note('first, then more'));
    server.down = false;
    await settle();
    expect(order).toEqual(['note', 'stroke']);
  });

  it('tells of another verdict given meanwhile, or of one taken away', async () => {
    for (const [current, version] of [
      [{ verdict: 'eased', version: 3 }, 3],
      [null, 0],
    ] as const) {
      const send = vi.fn<Send>().mockRejectedValueOnce(problem('stale', 409, current));
      send.mockResolvedValue({ version: 9, row: null });
      const outbox = new Outbox(new BrowserKeep('p', 'c', storage), send, { arrived: () => {}, changed: () => {} });
      outbox.put({ sort: 'verdict', id: 'k', body: 'cleared' }, true);
      await settle();
      expect(verdictOf([...outbox.conflicts.values()][0]?.theirs)).toBe(current?.verdict ?? null);
      outbox.keepMine('verdict:k');
      await settle();
      expect(send.mock.lastCall?.[1]).toBe(version);
    }
  });

  it('lets its own go when the person takes the other', async () => {
    const outbox = open();
    server.rows.set('n', { version: 4, words: 'theirs' });
    outbox.know('note:n', 3);
    outbox.put(note('mine'));
    await settle();
    expect(outbox.takeTheirs('note:n')?.theirVersion).toBe(4);
    outbox.put(note('on top of theirs'));
    await settle();
    expect(server.rows.get('n')?.words).toBe('on top of theirs');
  });

  it('keeps what the server refuses until it is let go, and sends the rest', async () => {
    const send = vi.fn<Send>(async (change) => {
      if (change.id === 'bad') throw problem('invalid-input', 422);
      return { version: 1, row: null };
    });
    const outbox = new Outbox(new BrowserKeep('p', 'c', storage), send, { arrived: () => {}, changed: () => {} });
    outbox.put({ ...note('x'), id: 'bad' } as Change);
    outbox.put(note('good'));
    await settle();
    expect([...outbox.refusals.keys()]).toEqual(['note:bad']);
    expect(outbox.waiting).toBe(1);
    outbox.letGo('note:bad');
    expect([outbox.waiting, storage.length]).toEqual([0, 0]);
  });

  it('says when the browser has no room to keep changes', () => {
    storage.setItem = () => {
      throw new DOMException('full', 'QuotaExceededError');
    };
    const outbox = open();
    outbox.put(note('x'));
    expect(outbox.durable).toBe(false);
  });
});
