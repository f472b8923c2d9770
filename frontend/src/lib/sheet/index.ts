export { countingOf, secondsAndFrames, secondsWords, shownFrame, shownSpan, type Counting } from './counting';
export { naturalWidth } from './layout';
export { laneOf, middle, sheetModel, type SheetMark, type SheetModel } from './model';
export { neighbour } from './walk';
export { default as Sheet } from './Sheet.svelte';
