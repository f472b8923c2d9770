import * as tus from 'tus-js-client';
import { API_ROOT, problemOf, ProblemError, UNSAFE_HEADERS } from '$lib/api';

/** Parts of a file go one at a time; a part that was cut off is continued, not repeated. */
const CHUNK_BYTES = 16 * 1024 * 1024;
const RETRY_MS = [0, 500, 1000, 2000, 4000];
/** A connection can die without a word: after this long without a byte it counts as gone. */
const SILENCE_MS = 20_000;
const TRY_AGAIN_MS = 5_000;

export type UploadState = 'idle' | 'sending' | 'stalled' | 'sent' | 'refused';

/** One file on its way to the server, continued after a lost connection or a reload. */
export class FileUpload {
  state = $state<UploadState>('idle');
  sentBytes = $state(0);
  totalBytes = $state(0);
  failure = $state<unknown>(null);

  #file: File | null = null;
  /** The try under way or the last one; what an earlier one still does or hears counts no more. */
  #upload: tus.Upload | null = null;
  #timer: ReturnType<typeof setTimeout> | undefined;

  /** `known` is called as soon as the server has given the upload its id. */
  constructor(
    private readonly known: (uploadId: string, filename: string) => void,
    private readonly arrived: () => void,
  ) {}

  /** Starts sending, or continues where an earlier try with the same file stopped. */
  async start(file: File): Promise<void> {
    this.reset();
    this.#file = file;
    this.sentBytes = 0;
    this.totalBytes = file.size;
    this.state = 'sending';
    await this.#try();
  }

  /** The connection is gone: stops, and tries again until it is back. */
  pause(): void {
    if (this.state === 'sending') this.#stall();
  }

  /** Goes on from where the server has got to. */
  resume(): void {
    if (this.state !== 'stalled') return;
    this.state = 'sending';
    void this.#try();
  }

  /** Stops, and tells the server to forget what it has. */
  async cancel(): Promise<void> {
    const upload = this.#upload;
    this.reset();
    // What cannot be told to the server now, it forgets by itself when the upload expires.
    await upload?.abort(true).catch(() => {});
  }

  /** Leaves off without a word to the server; the same file goes on from there another time. */
  stop(): void {
    void this.#upload?.abort().catch(() => {});
    this.reset();
  }

  /** Stops, ready for another file; what has arrived stays with the server. */
  reset(): void {
    clearTimeout(this.#timer);
    this.#file = null;
    this.#upload = null;
    this.state = 'idle';
    this.failure = null;
  }

  /** A stalled upload stays so until its new try is heard of. */
  async #try(): Promise<void> {
    const before = this.#upload;
    if (!this.#file) return;
    void before?.abort().catch(() => {});
    const upload = this.#tryOf(this.#file);
    this.#upload = upload;
    this.#listen();
    const [earlier] = await upload.findPreviousUploads();
    if (this.#upload !== upload) return;
    if (earlier) upload.resumeFromPreviousUpload(earlier);
    else upload.url = before?.url ?? null;
    upload.start();
  }

  #tryOf(file: File): tus.Upload {
    const upload: tus.Upload = new tus.Upload(file, {
      endpoint: `${API_ROOT}/uploads`,
      headers: { ...UNSAFE_HEADERS },
      metadata: { filename: file.name },
      chunkSize: CHUNK_BYTES,
      retryDelays: RETRY_MS,
      removeFingerprintOnSuccess: true,
      onBeforeRequest: (request) => {
        // An abort that comes while a try gets ready goes unheard; two tries at once would lock each other out.
        if (this.#upload !== upload && request.getMethod() !== 'DELETE') throw new Error('another try has begun');
      },
      onUploadUrlAvailable: () => {
        if (this.#upload === upload) this.known(idOf(upload.url), file.name);
      },
      onProgress: (sent) => {
        if (this.#upload !== upload || (this.state !== 'sending' && this.state !== 'stalled')) return;
        this.state = 'sending';
        this.sentBytes = sent;
        this.#listen();
      },
      onSuccess: () => {
        if (this.#upload !== upload) return;
        clearTimeout(this.#timer);
        this.state = 'sent';
        this.known(idOf(upload.url), file.name);
        this.arrived();
      },
      onError: (error) => {
        if (this.#upload === upload) void this.#failed(error);
      },
    });
    return upload;
  }

  #listen(): void {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.#stall(), SILENCE_MS);
  }

  #stall(): void {
    this.state = 'stalled';
    void this.#upload?.abort().catch(() => {});
    this.#tryAgain();
  }

  /** Whether the browser thinks it is online is not asked: it is wrong now and then, and would wait for ever. */
  #tryAgain(): void {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => void this.#try(), TRY_AGAIN_MS);
  }

  async #failed(error: Error | tus.DetailedError): Promise<void> {
    const answer = 'originalResponse' in error ? error.originalResponse : null;
    const status = answer?.getStatus() ?? 0;
    // 409 and 423 are an upload still held by the connection that was lost; the server lets go of it soon.
    if (answer && status >= 400 && status < 500 && status !== 409 && status !== 423) {
      clearTimeout(this.#timer);
      this.failure = await refusal(answer);
      this.state = 'refused';
    } else {
      this.state = 'stalled';
      this.#tryAgain();
    }
  }
}

function refusal(answer: tus.HttpResponse): Promise<ProblemError> {
  return problemOf(new Response(answer.getBody(), { status: answer.getStatus() }));
}

function idOf(url: string | null): string {
  return url?.split('/').at(-1) ?? '';
}
