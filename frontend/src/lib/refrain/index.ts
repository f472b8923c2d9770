export { default as Habits } from './Habits.svelte';
export { default as Plan } from './Plan.svelte';
export { default as Grid } from './Grid.svelte';
export { default as Legend } from './Legend.svelte';
export { glance } from './read';
