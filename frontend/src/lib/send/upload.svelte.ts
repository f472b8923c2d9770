import * as tus from 'tus-js-client';
import { API_ROOT, problemOf, ProblemError, UNSAFE_HEADERS } from '$lib/api';

/** Parts of a file go one at a time; a part that was cut off is continued, not repeated. */
const CHUNK_BYTES = 16 * 1024 * 1024;
const RETRY_MS = [0, 500, 1000, 2000, 4000, 8000];

export type UploadState = 'idle' | 'sending' | 'stalled' | 'sent' | 'refused';

/** One file on its way to the server, continued after a lost connection or a reload. */
export class FileUpload {
  state = $state<UploadState>('idle');
  sentBytes = $state(0);
  totalBytes = $state(0);
  failure = $state<unknown>(null);

  #upload: tus.Upload | null = null;

  /** `known` is called as soon as the server has given the upload its id. */
  constructor(
    private readonly known: (uploadId: string, filename: string) => void,
    private readonly arrived: () => void,
  ) {}

  /** Starts sending, or continues where an earlier try with the same file stopped. */
  async start(file: File): Promise<void> {
    this.failure = null;
    this.sentBytes = 0;
    this.totalBytes = file.size;
    this.state = 'sending';
    const upload = new tus.Upload(file, {
      endpoint: `${API_ROOT}/uploads`,
      headers: { ...UNSAFE_HEADERS },
      metadata: { filename: file.name },
      chunkSize: CHUNK_BYTES,
      retryDelays: RETRY_MS,
      removeFingerprintOnSuccess: true,
      onUploadUrlAvailable: () => this.known(idOf(upload.url), file.name),
      onProgress: (sent) => (this.sentBytes = sent),
      onSuccess: () => {
        this.state = 'sent';
        this.known(idOf(upload.url), file.name);
        this.arrived();
      },
      onError: (error) => void this.#failed(error),
    });
    this.#upload = upload;
    const earlier = await upload.findPreviousUploads();
    if (earlier.length > 0) upload.resumeFromPreviousUpload(earlier[0]);
    upload.start();
  }

  /** Goes on after the connection came back. */
  resume(): void {
    if (this.state !== 'stalled') return;
    this.failure = null;
    this.state = 'sending';
    this.#upload?.start();
  }

  /** Stops, and tells the server to forget what it has. */
  async cancel(): Promise<void> {
    const upload = this.#upload;
    this.reset();
    // What cannot be told to the server now, it forgets by itself when the upload expires.
    await upload?.abort(true).catch(() => {});
  }

  /** Ready for another file; what has arrived stays with the server. */
  reset(): void {
    this.#upload = null;
    this.state = 'idle';
    this.failure = null;
  }

  async #failed(error: Error | tus.DetailedError): Promise<void> {
    const answer = 'originalResponse' in error ? error.originalResponse : null;
    if (answer && answer.getStatus() >= 400 && answer.getStatus() < 500 && answer.getStatus() !== 423) {
      this.failure = await refusal(answer);
      this.state = 'refused';
    } else {
      this.failure = error;
      this.state = 'stalled';
    }
  }
}

function refusal(answer: tus.HttpResponse): Promise<ProblemError> {
  return problemOf(new Response(answer.getBody(), { status: answer.getStatus() }));
}

function idOf(url: string | null): string {
  return url?.split('/').at(-1) ?? '';
}
