import { createServer, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { afterAll, afterEach, beforeAll, describe, expect, it, vi } from 'vitest';
import { all, client, NetworkError, ok, onSignedOut, ProblemError, tell } from '.';

const asked: { url: string; mark: string | undefined }[] = [];
let respond: (response: ServerResponse) => void = (response) => response.end();
let base = '';

const server = createServer((request, response) => {
  asked.push({ url: request.url ?? '', mark: request.headers['refrain-request'] as string | undefined });
  request.resume().on('end', () => respond(response));
});

beforeAll(async () => {
  await new Promise<void>((up) => server.listen(0, '127.0.0.1', up));
  base = `http://127.0.0.1:${(server.address() as AddressInfo).port}/api/v1`;
});
afterAll(() => server.close());

function answer(status: number, body: unknown, headers: Record<string, string> = {}): void {
  respond = (response) => response.writeHead(status, headers).end(JSON.stringify(body));
}

const problem = (code: string, status: number) => ({
  type: `/problems/${code}`,
  title: 'Refused',
  status,
  detail: 'The mail address is known already.',
  code,
  errors: [{ field: 'email', reason: 'is taken' }],
});

afterEach(() => {
  asked.length = 0;
  onSignedOut(() => {});
});

describe('client', () => {
  it('marks requests that change something, and only those', async () => {
    answer(200, { items: [], next_cursor: null });
    await ok(client.GET('/desk', { baseUrl: base }));
    await ok(
      client.PUT('/notes/{id}/answer', {
        baseUrl: base,
        params: { path: { id: 'a' } },
        body: { kind: 'done', words: '' },
      }),
    );
    expect(asked.map((request) => request.mark)).toEqual([undefined, '1']);
    expect(asked[1].url).toBe('/api/v1/notes/a/answer');
  });

  // RFC 9457: application/problem+json with type, title, status, detail; code and errors are our extension members.
  it('throws problem details as a typed error', async () => {
    answer(409, problem('duplicate', 409), { 'Content-Type': 'application/problem+json' });
    const failure = await ok(client.GET('/desk', { baseUrl: base })).catch((e: unknown) => e);
    expect(failure).toBeInstanceOf(ProblemError);
    expect((failure as ProblemError).code).toBe('duplicate');
    expect(tell(failure).fields).toEqual([{ field: 'email', reason: 'is taken' }]);
  });

  it('makes a problem of an answer that is none', async () => {
    answer(502, 'bad gateway');
    const failure = await ok(client.GET('/desk', { baseUrl: base })).catch((e: unknown) => e);
    expect((failure as ProblemError).code).toBe('unavailable');
  });

  it('says how long to wait (RFC 9110, Retry-After)', async () => {
    answer(429, problem('too-many-attempts', 429), { 'Retry-After': '90' });
    const failure = await ok(client.GET('/desk', { baseUrl: base })).catch((e: unknown) => e);
    expect(tell(failure).then).toContain('2 minutes');
  });

  it('calls a dead connection by its name', async () => {
    respond = (response) => response.destroy();
    const failure = await ok(client.GET('/desk', { baseUrl: base })).catch((e: unknown) => e);
    expect(failure).toBeInstanceOf(NetworkError);
    expect(tell(failure, 'Your words are kept here.').then).toMatch(/^Your words are kept here\./);
  });

  it('reports being signed out, except when asking who one is', async () => {
    const left = vi.fn();
    onSignedOut(left);
    answer(401, problem('sign-in-required', 401));
    await ok(client.GET('/me', { baseUrl: base })).catch(() => {});
    expect(left).not.toHaveBeenCalled();
    await ok(client.GET('/desk', { baseUrl: base })).catch(() => {});
    expect(left).toHaveBeenCalledOnce();
  });
});

it('reads a list to its end', async () => {
  const pages = [
    { items: [1, 2], next_cursor: 'x' },
    { items: [3], next_cursor: null },
  ];
  const cursors: (string | undefined)[] = [];
  const items = await all<number>(async (cursor) => {
    cursors.push(cursor);
    return pages[cursors.length - 1];
  });
  expect(items).toEqual([1, 2, 3]);
  expect(cursors).toEqual([undefined, 'x']);
});
