import { client, ok, ProblemError } from '$lib/api';
import type { Change, Send } from './outbox';
import type { AskAbout } from './suggesting.svelte';

interface Arrival {
  version: number;
  row: unknown;
}

const NOTHING: Arrival = { version: 0, row: null };

/** Sends changes of one critique to the server. */
export function deliver(critiqueId: string): Send {
  return (change, version) => {
    if (change.sort === 'note') return note(critiqueId, change, version);
    if (change.sort === 'verdict') return verdict(critiqueId, change, version);
    if (change.sort === 'stroke') return stroke(critiqueId, change);
    if (change.sort === 'trace') return trace(critiqueId, change);
    if (change.sort === 'shown') return shown(critiqueId, change);
    return summary(critiqueId, change, version);
  };
}

/** Asks the server what a note of one critique seems to say. */
export function suggestFor(critiqueId: string): AskAbout {
  const params = { path: { id: critiqueId } };
  return (body, signal) => ok(client.POST('/critiques/{id}/suggestions', { params, body, signal }));
}

type Of<S extends Change['sort']> = Extract<Change, { sort: S }>;

async function note(id: string, change: Of<'note'>, version: number): Promise<Arrival> {
  const path = { id, note_id: change.id };
  if (!change.body) {
    // A note the server has never seen is gone already.
    if (version > 0)
      await ok(client.DELETE('/critiques/{id}/notes/{note_id}', { params: { path, query: { version } } }));
    return NOTHING;
  }
  const body = { ...change.body, version };
  const row = await ok(client.PUT('/critiques/{id}/notes/{note_id}', { params: { path }, body }));
  return { version: row.version, row };
}

async function verdict(id: string, change: Of<'verdict'>, version: number): Promise<Arrival> {
  const params = { path: { id, concern_id: change.id } };
  const body = { version, verdict: change.body };
  const row = await ok(client.PUT('/critiques/{id}/verdicts/{concern_id}', { params, body }));
  return { version: row.verdict?.version ?? 0, row };
}

async function stroke(id: string, change: Of<'stroke'>): Promise<Arrival> {
  const params = { path: { id, stroke_id: change.id } };
  if (change.body) await ok(client.PUT('/critiques/{id}/strokes/{stroke_id}', { params, body: change.body }));
  else await ok(client.DELETE('/critiques/{id}/strokes/{stroke_id}', { params }));
  return NOTHING;
}

async function trace(id: string, change: Of<'trace'>): Promise<Arrival> {
  const params = { path: { id, trace_id: change.id } };
  if (change.body) await ok(client.PUT('/critiques/{id}/traces/{trace_id}', { params, body: change.body }));
  else await ok(client.DELETE('/critiques/{id}/traces/{trace_id}', { params }));
  return NOTHING;
}

/** Kept for judging suggestions alone: a refusal is nothing a person could act on. */
async function shown(id: string, change: Of<'shown'>): Promise<Arrival> {
  const path = { id, note_id: change.id };
  const call = client.PUT('/critiques/{id}/notes/{note_id}/suggestions', { params: { path }, body: change.body });
  await ok(call).catch((failure: unknown) => {
    const refused = failure instanceof ProblemError && [404, 409, 422].includes(failure.problem.status);
    if (!refused) throw failure;
  });
  return NOTHING;
}

async function summary(id: string, change: Of<'summary'>, version: number): Promise<Arrival> {
  const params = { path: { id } };
  const row = await ok(client.PUT('/critiques/{id}/summary', { params, body: { version, summary: change.body } }));
  return { version: row.version, row: null };
}
