export { matchDevice, paintPicture, inPicture, type Context } from './canvas';
export { paintPair, panes, type Arrangement } from './compare';
export { drawScene, type Preview, type Scene } from './draw';
export { GhostPainter, type Ghost, type GhostColours } from './ghosts';
export { History } from './history';
export { alongPath, inOrder, ticks, withDot, type Dot } from './spacing';
export { PENCIL_SIZES, strokesAt } from './stroke';
export { DotTool, PenTool, RegionTool, type Command, type Pencil, type Tool, type Touch } from './tools';
