/**
 * Frame numbers that a machine can read off the picture: 12 bits as white cells on black in a top row,
 * their complement in a second row. The code covers 3/8 of the width and 1/9 of the height.
 */
export const BITS = 12;
export const CODE_WIDTH = 3 / 8;
export const CODE_HEIGHT = 1 / 9;

/** The ffmpeg filter that draws the code of frame n; one cell is `cell` pixels. */
export function barcodeFilter(cell: number): string {
  const box = (x: number, y: number, w: number, h: number, rest: string) =>
    `drawbox=x=${x}:y=${y}:w=${w}:h=${h}:${rest}:t=fill`;
  const parts = [box(0, 0, BITS * cell, 2 * cell, 'color=black')];
  for (let bit = 0; bit < BITS; bit++) {
    const within = `mod(n,${2 << bit}),${1 << bit}`;
    parts.push(`${box(bit * cell, 0, cell, cell, 'color=white')}:enable='gte(${within})'`);
    parts.push(`${box(bit * cell, cell, cell, cell, 'color=white')}:enable='lt(${within})'`);
  }
  return parts.join(',');
}

/** One channel of the picture's upper left corner, row by row; at least as large as the code. */
export interface Corner {
  width: number;
  /** Size of the whole picture, in the same pixels. */
  picture: { width: number; height: number };
  levels: ArrayLike<number>;
}

/** The number in the corner of a picture, or -1 when the two rows do not say the same. */
export function barcodeIn({ width, picture, levels }: Corner): number {
  const cellWidth = (picture.width * CODE_WIDTH) / BITS;
  const cellHeight = (picture.height * CODE_HEIGHT) / 2;
  const bright = (bit: number, row: number): boolean => {
    const x = Math.floor((bit + 0.5) * cellWidth);
    const y = Math.floor((row + 0.5) * cellHeight);
    return levels[y * width + x] > 127;
  };
  let number = 0;
  for (let bit = 0; bit < BITS; bit++) {
    if (bright(bit, 0) === bright(bit, 1)) return -1;
    if (bright(bit, 0)) number |= 1 << bit;
  }
  return number;
}

/** The number painted on a canvas that is all picture. */
export function readBarcode(ctx: CanvasRenderingContext2D): number {
  const { width, height } = ctx.canvas;
  const image = ctx.getImageData(0, 0, Math.ceil(width * CODE_WIDTH), Math.ceil(height * CODE_HEIGHT));
  const levels = image.data.filter((_, k) => k % 4 === 1);
  return barcodeIn({ width: image.width, picture: { width, height }, levels });
}
