const UNITS = ['bytes', 'KiB', 'MiB', 'GiB'];

/** A file size in words, in powers of 1024 (IEC 80000-13): "824 KiB", "1.4 GiB". */
export function sizeWords(bytes: number): string {
  let value = bytes;
  let unit = 0;
  while (value >= 1024 && unit < UNITS.length - 1) {
    value /= 1024;
    unit += 1;
  }
  return `${unit === 0 || value >= 10 ? Math.round(value) : value.toFixed(1)} ${UNITS[unit]}`;
}
