import { tell, type Telling } from '$lib/api';
import { PlaybackError, type FallbackReason, type PlaybackFault } from '$lib/player';

const FAULT_WORDS: Record<PlaybackFault, string> = {
  unreadable: 'The review copy could not be read.',
  count: 'The review copy does not fit its frame table, so no frame of it can be trusted.',
  order: 'The review copy is not in order, so no frame of it can be trusted.',
  unsupported: 'This browser cannot read the review copy.',
  decoder: 'This frame could not be shown.',
  closed: 'The picture was closed.',
};

/** What the page says when a frame could not be shown. */
export function pictureFailure(error: unknown): Telling {
  const then = 'Notes can still be read and written. Reload the page to try again.';
  if (error instanceof PlaybackError) return { happened: FAULT_WORDS[error.fault], then, fields: [] };
  return { ...tell(error), then };
}

/** What the page says when pictures do not come from the frame decoder. */
export const FALLBACK_WORDS: Record<FallbackReason, string> = {
  insecure:
    'This address is not secure (https), so the browser keeps its frame decoder back. Frames are sought in the video instead: each one is still the right one, but playing skips some.',
  'no-decoder':
    'This browser has no frame decoder. Frames are sought in the video instead: each one is still the right one, but playing skips some.',
  unsupported:
    'This browser’s frame decoder cannot read the review copy. Frames are sought in the video instead: each one is still the right one, but playing skips some.',
  failed:
    'The frame decoder failed. Frames are now sought in the video instead: each one is still the right one, but playing skips some. Reloading the page tries the decoder again.',
};
