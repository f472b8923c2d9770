export { today, zone } from './clock';
export { homeOf, placesOf, safeReturn, type Place } from './places';
export { lastSchool, requireMe, session, signInPath } from './session.svelte';
