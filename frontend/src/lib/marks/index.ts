export { default as Mark } from './Mark.svelte';
export {
  edgePath,
  halfPath,
  MARK_HEIGHT,
  MARK_MARGIN,
  MARK_WIDTH,
  markParts,
  markPath,
  returnPath,
  type Box,
  type MarkPart,
  type MarkSpec,
  type Paint,
} from './shape';
export { markStandings, standingWords, type MarkStanding } from './standing';
