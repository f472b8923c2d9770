export { default as Failure } from './Failure.svelte';
export { default as Labelled } from './Labelled.svelte';
export { reasonFor, sentences } from './reasons';
export { Task } from './task.svelte';
export { onceTyped } from './typing';
