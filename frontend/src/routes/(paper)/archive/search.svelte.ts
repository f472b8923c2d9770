import { client, ok, type ArchiveQuery, type Hit } from '$lib/api';

/** One search as it stands: the newest question wins, however late an older answer comes. */
export class Search {
  hits = $state<Hit[]>([]);
  total = $state<number | null>(null);
  cursor = $state<string | null>(null);
  busy = $state(false);
  failure = $state<unknown>(null);

  #asked: AbortController | null = null;
  #query: ArchiveQuery = {};

  async ask(query: ArchiveQuery): Promise<void> {
    this.#query = query;
    await this.#load(undefined);
  }

  async more(): Promise<void> {
    if (this.cursor) await this.#load(this.cursor);
  }

  stop(): void {
    this.#asked?.abort();
  }

  async #load(cursor: string | undefined): Promise<void> {
    this.#asked?.abort();
    const asked = new AbortController();
    this.#asked = asked;
    this.busy = true;
    try {
      const page = await ok(
        client.GET('/archive', { params: { query: { ...this.#query, cursor } }, signal: asked.signal }),
      );
      this.hits = cursor ? [...this.hits, ...page.items] : page.items;
      this.total = page.total;
      this.cursor = page.next_cursor;
      this.failure = null;
    } catch (failure) {
      if (!asked.signal.aborted) this.failure = failure;
    } finally {
      if (this.#asked === asked) this.busy = false;
    }
  }
}
