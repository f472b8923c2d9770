import { client, ok, ProblemError, type Footage, type Upload } from '$lib/api';

const ASK_MS = 700;

/** Follows an arrived file until it can be looked at: probing, then preparation. */
export class Arrival {
  upload = $state<Upload | null>(null);
  footage = $state<Footage | null>(null);
  failure = $state<unknown>(null);

  #timer: ReturnType<typeof setTimeout> | undefined;
  #following: { upload: string | null; footage: string | null } | null = null;

  constructor(private readonly accepted: (footageId: string) => void) {}

  follow(upload: string | null, footage: string | null): void {
    this.clear();
    this.#following = { upload, footage };
    void this.#ask();
  }

  stop(): void {
    clearTimeout(this.#timer);
    this.#following = null;
  }

  /** Stops following, and forgets what was seen. */
  clear(): void {
    this.stop();
    this.upload = null;
    this.footage = null;
    this.failure = null;
  }

  async #ask(): Promise<void> {
    const asked = this.#following;
    if (!asked) return;
    try {
      if (asked.footage) await this.#askFootage(asked.footage);
      else if (asked.upload) await this.#askUpload(asked.upload);
      this.failure = null;
    } catch (failure) {
      this.failure = failure;
      if (failure instanceof ProblemError && failure.problem.status < 500) return;
    }
    if (this.#following === asked && this.#goesOn()) this.#timer = setTimeout(() => void this.#ask(), ASK_MS);
  }

  async #askUpload(id: string): Promise<void> {
    this.upload = await ok(client.GET('/uploads/{id}', { params: { path: { id } } }));
    const { footage_id } = this.upload;
    if (this.upload.state === 'accepted' && footage_id && this.#following) {
      this.#following.footage = footage_id;
      this.accepted(footage_id);
    }
  }

  async #askFootage(id: string): Promise<void> {
    this.footage = await ok(client.GET('/footage/{id}', { params: { path: { id } } }));
  }

  #goesOn(): boolean {
    if (this.footage) return this.footage.state === 'preparing';
    return this.upload === null || this.upload.state === 'probing' || this.upload.state === 'accepted';
  }
}
