import { EncodedPacketSink, Input, MP4, UrlSource, type EncodedPacket, type InputVideoTrack } from 'mediabunny';
import { PlaybackError } from './types';

const READ_CACHE_BYTES = 64 << 20;
const RETRY_DELAYS_S = [0.3, 0.6, 1.2];
/** Packet times are seconds in floating point: a hair past the start still finds the packet itself. */
const HAIR_S = 1e-6;

interface Slot {
  type: EncodedVideoChunkType;
  timeS: number;
  bytes?: Uint8Array;
}

/**
 * The encoded review copy, by frame number. It has no B-frames, so packet i is frame i: the order of
 * decoding is the order of showing. A copy that breaks this is refused here.
 */
export class Copy {
  readonly #groups = new Map<number, Promise<void>>();

  private constructor(
    readonly config: VideoDecoderConfig,
    readonly longestGroup: number,
    private readonly input: Input,
    private readonly sink: EncodedPacketSink,
    private readonly slots: Slot[],
    private readonly keys: Int32Array,
  ) {}

  static async open(url: string): Promise<Copy> {
    const source = new UrlSource(url, {
      maxCacheSize: READ_CACHE_BYTES,
      getRetryDelay: (attempt) => RETRY_DELAYS_S[attempt - 1] ?? null,
    });
    const input = new Input({ source, formats: [MP4] });
    try {
      const track = await input.getPrimaryVideoTrack();
      const config = await track?.getDecoderConfig();
      if (!track || !config) throw new PlaybackError('unreadable', 'the review copy has no video track');
      return await Copy.#index(input, track, config);
    } catch (error) {
      input.dispose();
      if (error instanceof PlaybackError) throw error;
      throw new PlaybackError('unreadable', 'the review copy could not be read', { cause: error });
    }
  }

  static async #index(input: Input, track: InputVideoTrack, config: VideoDecoderConfig): Promise<Copy> {
    const sink = new EncodedPacketSink(track);
    const slots: Slot[] = [];
    const keys: number[] = [];
    let key = -1;
    let longest = 1;
    for await (const packet of sink.packets(undefined, undefined, { metadataOnly: true })) {
      if (slots.length && packet.timestamp <= slots[slots.length - 1].timeS)
        throw new PlaybackError('order', `packet ${slots.length} of the review copy is out of order`);
      if (packet.type === 'key') key = slots.length;
      if (key < 0) throw new PlaybackError('order', 'the review copy does not start with a key frame');
      keys.push(key);
      longest = Math.max(longest, slots.length - key + 1);
      slots.push({ type: packet.type, timeS: packet.timestamp });
    }
    return new Copy(config, longest, input, sink, slots, Int32Array.from(keys));
  }

  get count(): number {
    return this.slots.length;
  }

  /** The key frame that decoding frame i starts from. */
  keyOf(i: number): number {
    return this.keys[i];
  }

  /**
   * The chunk of frame i, once its group is loaded. Its timestamp IS the frame number, so that what
   * leaves the decoder names its own frame.
   */
  chunk(i: number): EncodedVideoChunk | undefined {
    const { type, bytes } = this.slots[i];
    return bytes && new EncodedVideoChunk({ type, timestamp: i, duration: 1, data: bytes });
  }

  /** Reads the group of pictures that starts at `key`, once. A failed read may be tried again. */
  load(key: number): Promise<void> {
    const known = this.#groups.get(key);
    if (known) return known;
    const reading = this.#read(key).catch((error: unknown) => {
      this.#groups.delete(key);
      throw new PlaybackError('unreadable', `the review copy could not be read at frame ${key}`, { cause: error });
    });
    this.#groups.set(key, reading);
    return reading;
  }

  async #read(key: number): Promise<void> {
    let packet: EncodedPacket | null = await this.sink.getPacket(this.slots[key].timeS + HAIR_S);
    for (let i = key; this.keys[i] === key; i++) {
      if (!packet) throw new Error(`packet ${i} is missing`);
      this.slots[i].bytes = packet.data;
      if (this.keys[i + 1] === key) packet = await this.sink.getNextPacket(packet);
    }
  }

  close(): void {
    this.input.dispose();
  }
}
