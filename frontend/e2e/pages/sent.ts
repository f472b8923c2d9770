import { readFileSync } from 'node:fs';
import { basename } from 'node:path';
import { expect, type Page } from '@playwright/test';
import { FIRST_FRAME } from './critique';

const UNSAFE = { 'Refrain-Request': '1' };
const TUS = { ...UNSAFE, 'Tus-Resumable': '1.0.0' };

async function read(page: Page, path: string): Promise<Record<string, unknown>> {
  const answer = await page.request.get(path);
  expect(answer.ok(), await answer.text()).toBe(true);
  return (await answer.json()) as Record<string, unknown>;
}

async function post(page: Page, path: string, data: object, headers: Record<string, string> = {}) {
  const answer = await page.request.post(path, { data, headers: { ...UNSAFE, ...headers } });
  expect(answer.ok(), await answer.text()).toBe(true);
  return (await answer.json()) as Record<string, unknown>;
}

/** A field of what `path` answers, once it is there. */
async function arrived(page: Page, path: string, field: (row: Record<string, unknown>) => unknown): Promise<string> {
  let found: unknown;
  const look = async () => {
    found = field(await read(page, path));
    return Boolean(found);
  };
  await expect.poll(look, { timeout: 120_000 }).toBe(true);
  return String(found);
}

/** Uploads a clip by tus (creation and one PATCH) and waits until it is prepared; the footage's id. */
async function footageOf(page: Page, clip: string): Promise<string> {
  const bytes = readFileSync(clip);
  const name = Buffer.from(basename(clip)).toString('base64');
  const created = await page.request.post('/api/v1/uploads', {
    headers: { ...TUS, 'Upload-Length': String(bytes.length), 'Upload-Metadata': `filename ${name}` },
  });
  expect(created.status(), await created.text()).toBe(201);
  const place = new URL(created.headers().location, created.url()).pathname;
  const sent = await page.request.patch(place, {
    headers: { ...TUS, 'Upload-Offset': '0', 'Content-Type': 'application/offset+octet-stream' },
    data: bytes,
  });
  expect(sent.status(), await sent.text()).toBe(204);
  const id = await arrived(page, place, (upload) => upload.footage_id);
  await arrived(page, `/api/v1/footage/${id}`, (footage) => footage.state === 'ready' && id);
  return id;
}

/** Begins a shot without the pages; its id. */
export async function begunShot(student: Page, title: string): Promise<string> {
  const enrolments = (await read(student, '/api/v1/enrolments')) as { items: { id: string }[] };
  const enrolment_id = enrolments.items[0].id;
  const shot = await post(student, '/api/v1/shots', { enrolment_id, title, first_frame: FIRST_FRAME });
  return String(shot.id);
}

/** Sends a clip as the next revision of a shot without the pages; the submission's id. */
export async function sentRevision(student: Page, shot_id: string, clip: string): Promise<string> {
  const body = { shot_id, footage_id: await footageOf(student, clip), stage: 'spline', words: '' };
  const submission = await post(student, '/api/v1/submissions', body, { 'Idempotency-Key': crypto.randomUUID() });
  return String(submission.id);
}

/** Sends a clip as r1 of a new shot without the pages, for tests about what comes after; the submission's id. */
export async function sentClip(student: Page, title: string, clip: string): Promise<string> {
  return sentRevision(student, await begunShot(student, title), clip);
}

/** What a note written without the pages says. */
export interface NoteSaid {
  words: string;
  span: { start: number; end: number };
  principles: string[];
  parts: { part: string; side: string | null }[];
}

/** Writes notes into a critique and releases it without the pages; back when it is out. */
export async function released(mentor: Page, critique: string, notes: NoteSaid[]): Promise<void> {
  const path = `/api/v1/critiques/${critique.split('/').at(-1)}`;
  for (const said of notes) {
    const data = { version: 0, kind: 'fix', urgency: 'should', region: null, ask: null, concern_id: null, ...said };
    const answer = await mentor.request.put(`${path}/notes/${crypto.randomUUID()}`, { data, headers: UNSAFE });
    expect(answer.ok(), await answer.text()).toBe(true);
  }
  await post(mentor, `${path}/release`, {});
  await arrived(mentor, path, (page) => page.state === 'released');
}

/** Opens a submission as its mentor; the address of its critique page. */
export async function openedBy(mentor: Page, submission: string): Promise<string> {
  const opened = await post(mentor, `/api/v1/submissions/${submission}/open`, {});
  return `/critique/${String(opened.critique_id)}`;
}
