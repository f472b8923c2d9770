import { PlaybackError } from './types';

/**
 * Held frames would starve a hardware decoder's small pool of surfaces, and a review copy is small:
 * software decoding is preferred, anything is accepted.
 */
const PREFERENCES: HardwareAcceleration[] = ['prefer-software', 'no-preference'];

/** A configuration this browser can decode, or a PlaybackError. */
export async function supportedConfig(config: VideoDecoderConfig): Promise<VideoDecoderConfig> {
  for (const hardwareAcceleration of PREFERENCES) {
    const wanted: VideoDecoderConfig = { ...config, hardwareAcceleration, optimizeForLatency: true };
    if ((await VideoDecoder.isConfigSupported(wanted)).supported) return wanted;
  }
  throw new PlaybackError('unsupported', `this browser cannot decode ${config.codec}`);
}

export interface DecoderEvents {
  frame(i: number, frame: VideoFrame): void;
  lost(error: unknown): void;
}

/** A decoder that can be lost and is built again on the next chunk. Frames in flight are known by number. */
export class FrameDecoder {
  #decoder?: VideoDecoder;
  /** Frame the decoder expects next; -1: only a key frame will do. */
  #position = -1;
  readonly inFlight = new Set<number>();

  constructor(
    private readonly config: VideoDecoderConfig,
    private readonly events: DecoderEvents,
  ) {}

  /** The frame to feed now on the way to `target`: the next in line, or the key frame (a seek needs no reset). */
  step(target: number, key: number): number {
    return this.#decoder && this.#position > key && this.#position <= target ? this.#position : key;
  }

  feed(i: number, chunk: EncodedVideoChunk): void {
    const decoder = this.#decoder ?? this.#build();
    this.inFlight.add(i);
    this.#position = i + 1;
    decoder.decode(chunk);
  }

  /** Lets the decoder go; the next chunk builds another. */
  reset(): void {
    const decoder = this.#decoder;
    this.#decoder = undefined;
    this.#position = -1;
    this.inFlight.clear();
    if (decoder && decoder.state !== 'closed') decoder.close();
  }

  #build(): VideoDecoder {
    const decoder = new VideoDecoder({
      output: (frame) => {
        if (this.#decoder !== decoder) return frame.close();
        this.inFlight.delete(frame.timestamp);
        this.events.frame(frame.timestamp, frame);
      },
      // Browsers take idle decoders of hidden tabs away.
      error: (error) => {
        if (this.#decoder !== decoder) return;
        this.reset();
        this.events.lost(error);
      },
    });
    decoder.configure(this.config);
    this.#decoder = decoder;
    return decoder;
  }
}
