export { default as Chain } from './Chain.svelte';
export { latest, nextStep, stands, stateWords, type NextStep } from './next';
