export type * from './contract';
export { all, API_ROOT, client, ok, onSignedOut, UNSAFE_HEADERS } from './client';
export { NetworkError, ProblemError, problemOf, tell, type Telling } from './problem';
export { uuid } from './uuid';
