export { COMMANDS, commandNames, type Command } from './commands';
export { keys, type Act } from './keys.svelte';
export { default as KeysPage } from './KeysPage.svelte';
export { default as Key } from './Key.svelte';
