/** One sRGB channel, 0 to 255, made linear (WCAG 2.2, definition of relative luminance). */
function linear(channel: number): number {
  const c = channel / 255;
  return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
}

/** Relative luminance of `#rrggbb`, 0 (black) to 1 (white), by WCAG 2.2. */
export function relativeLuminance(hex: string): number {
  const value = Number.parseInt(hex.slice(1), 16);
  return 0.2126 * linear((value >> 16) & 255) + 0.7152 * linear((value >> 8) & 255) + 0.0722 * linear(value & 255);
}

/** Contrast ratio of two colours, 1 to 21: (L1 + 0.05) / (L2 + 0.05), the lighter above (WCAG 2.2). */
export function contrastRatio(a: string, b: string): number {
  const [low, high] = [relativeLuminance(a), relativeLuminance(b)].sort((x, y) => x - y);
  return (high + 0.05) / (low + 0.05);
}
