export { default as Glyph } from './Glyph.svelte';
export { default as Pegs } from './Pegs.svelte';
export { default as PromiseBar } from './PromiseBar.svelte';
export { principleGlyphs } from './principles';
export { quotaWords } from './quota';
