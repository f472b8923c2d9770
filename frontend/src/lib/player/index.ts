export { DecodedPictures } from './decoded';
export { ElementPictures } from './element';
export { decoderMissing, Footage, type FootageOptions } from './footage';
export { play, wallClock, type Elapsed } from './play';
export { canSound, Sound, SoundClock } from './sound';
export { endOf, frameAt, frameTimes, type FrameTimes, type TimeBase } from './times';
export {
  isCancelled,
  PlaybackError,
  type Direction,
  type FallbackReason,
  type PlaybackFault,
  type Pictures,
  type Run,
  type RunHooks,
  type RunStats,
} from './types';
