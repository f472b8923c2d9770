export { default as Clip } from './Clip.svelte';
export { default as Preview } from './Preview.svelte';
export { default as Strip } from './Strip.svelte';
