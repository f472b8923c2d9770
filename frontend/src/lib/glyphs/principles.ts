import type { Principle } from '$lib/api';

/** Line drawings of the principles in a 16 by 16 box, to be stroked and not filled. Drawn for this program. */
export const principleGlyphs: Record<Principle, string> = {
  // ticks closing up
  spacing: 'M1.5 3v10M7.5 3v10M11.5 3v10M14.5 3v10',
  // how long from here to there
  timing: 'M1.5 3.5v9M14.5 3.5v9M1.5 8h13M6 6v4',
  // a quarter of a circle
  arcs: 'M2 14A12 12 0 0 1 14 2',
  // two bars, one starting later
  overlap: 'M1.5 5.5h9M5.5 10.5h9',
  // a foot on a rule
  contact: 'M4 1.5l4 8.5h6M1 14h14',
  // a load that bends its plank
  weight: 'M5 2.5h6v5.500h-6zM1 9.5c3 0 4 4 7 4s4-4 7-4',
  // a line of action under a head
  posing: 'M5 15C2.5 10.5 11.5 9.5 9.3 5M10.7 3a1.7 1.7 0 1 0-3.4 0a1.7 1.7 0 1 0 3.4 0',
  // first back, then forth
  anticipation: 'M7 12.5C1.5 12.5 1.5 6 7 6H14.5M11 2.500l3.5 3.5-3.5 3.5',
  // one thing in a frame
  staging: 'M1 3h14v10H1zM12.3 8a1.8 1.8 0 1 0-3.6 0a1.8 1.8 0 1 0 3.6 0',
  // a change of mind
  acting: 'M1 12h4.500C9 12 7 4 10.5 4H15M12.5 1.500L15 4l-2.5 2.5',
  // brow over an eye
  facial: 'M2 5C5 1.5 11 1.5 14 4.500M2 10.5C5 6.5 11 6.5 14 10.5C11 14 5 14 2 10.5ZM8 9.500v2',
  // a glint
  polish: 'M8 1.5v4M8 10.5v4M1.5 8h4M10.5 8h4M4 4l1.5 1.500M10.5 10.5l1.5 1.5',
};
