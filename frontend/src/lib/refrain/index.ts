export { default as Grid } from './Grid.svelte';
export { default as Legend } from './Legend.svelte';
export { glance } from './read';
