/** The two grounds. `tokens.css` carries the same values for style sheets; a test keeps the two alike. */
export interface Palette {
  /** What the page is painted with. */
  ground: string;
  /** A surface standing out from the ground: the slip, menus, cards. */
  panel: string;
  /** Text, and every mark that does not recur. */
  ink: string;
  /** Quieter text. */
  dim: string;
  /** Hairlines that only divide. */
  rule: string;
  /** Outlines of fields and buttons. */
  edge: string;
  /** Marks of what is still there or came back, and nothing else. */
  hot: string;
}

/** Every page but those that show footage large. */
export const paper: Palette = {
  ground: '#fbfaf6',
  panel: '#f4f2ea',
  ink: '#22252b',
  dim: '#66655f',
  rule: '#ddd9ce',
  edge: '#85827a',
  hot: '#d55e00',
};

/** Pages that show footage large: neutral, as ITU-R BT.500 and ISO 3664 ask of a surround. */
export const grey: Palette = {
  ground: '#383838',
  panel: '#303030',
  ink: '#e9e9e9',
  dim: '#b0b0b0',
  rule: '#4a4a4a',
  edge: '#929292',
  hot: '#ff8a3d',
};
