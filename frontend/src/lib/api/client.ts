import createClient, { type Middleware } from 'openapi-fetch';
import type { Page, paths } from './contract';
import { NetworkError, problemOf } from './problem';

/** Where the API lives. */
export const API_ROOT = '/api/v1';
/** A header no form of another site can send; every request that changes something carries it. */
export const UNSAFE_HEADERS = { 'Refrain-Request': '1' } as const;

const SAFE = new Set(['GET', 'HEAD', 'OPTIONS']);

let signedOut: () => void = () => {};

/** What to do when the server no longer knows who is asking. */
export function onSignedOut(act: () => void): void {
  signedOut = act;
}

const manners: Middleware = {
  onRequest({ request }) {
    if (!SAFE.has(request.method)) request.headers.set('Refrain-Request', UNSAFE_HEADERS['Refrain-Request']);
    return request;
  },
  async onResponse({ response, schemaPath }) {
    if (response.ok) return undefined;
    const failure = await problemOf(response);
    if (failure.code === 'sign-in-required' && schemaPath !== '/me') signedOut();
    throw failure;
  },
  onError({ error }) {
    if (error instanceof DOMException && error.name === 'AbortError') return error;
    return new NetworkError(error);
  },
};

/** The typed client. Failures are thrown: `ProblemError`, `NetworkError`, or `AbortError` of an aborted request. */
export const client = createClient<paths>({ baseUrl: API_ROOT });
client.use(manners);

/** The answer itself; the client throws on anything else. */
export async function ok<T>(call: Promise<{ data?: T; response: Response }>): Promise<T> {
  const { data } = await call;
  return data as T;
}

/** Reads a list to its end, page by page. For lists bounded by one school's people or courses. */
export async function all<T>(page: (cursor: string | undefined) => Promise<Page<T>>): Promise<T[]> {
  const items: T[] = [];
  let cursor: string | undefined;
  do {
    const { items: more, next_cursor } = await page(cursor);
    items.push(...more);
    cursor = next_cursor ?? undefined;
  } while (cursor);
  return items;
}
