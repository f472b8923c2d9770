/** Scripts for a page before it loads: what a browser without a frame decoder is like, or one whose decoder dies. */

/** The decoder is not there at all. */
export const WITHOUT_DECODER = 'delete window.VideoDecoder;';

/** The decoder dies for good after so many chunks. */
export const breakDecoderAfter = (chunks: number): string => `{
  const Real = VideoDecoder; let fed = 0;
  window.VideoDecoder = class extends Real {
    #fail; constructor(init) { super(init); this.#fail = init.error; }
    decode(chunk) { if (++fed > ${chunks}) { this.close(); queueMicrotask(() => this.#fail(new DOMException('lost', 'EncodingError'))); } else super.decode(chunk); }
  };
}`;
