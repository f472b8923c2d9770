import { uuid, type Stage } from '$lib/api';

/** What a student has put together before sending; kept in the browser until it is sent. */
export interface SendDraft {
  /** Sent with the submission, so that sending twice is sending once. */
  key: string;
  shot_id: string | null;
  /** A shot still to be started, when `shot_id` is null. */
  enrolment_id: string | null;
  assignment_id: string | null;
  title: string;
  first_frame: number;
  upload_id: string | null;
  filename: string | null;
  footage_id: string | null;
  stage: Stage | null;
  words: string;
}

export function emptyDraft(): SendDraft {
  return {
    key: uuid(),
    shot_id: null,
    enrolment_id: null,
    assignment_id: null,
    title: '',
    first_frame: 1,
    upload_id: null,
    filename: null,
    footage_id: null,
    stage: null,
    words: '',
  };
}

const keyOf = (person: string) => `refrain.send.${person}`;

/** The draft kept for this person, or an empty one. */
export function loadDraft(person: string): SendDraft {
  try {
    const kept = JSON.parse(localStorage.getItem(keyOf(person)) ?? 'null') as Partial<SendDraft> | null;
    if (typeof kept?.key === 'string') return { ...emptyDraft(), ...kept };
  } catch {
    // Nothing kept, or not by us: begin anew.
  }
  return emptyDraft();
}

export function keepDraft(person: string, draft: SendDraft): void {
  try {
    localStorage.setItem(keyOf(person), JSON.stringify(draft));
  } catch {
    // A browser that keeps nothing can still send; only a reload then begins anew.
  }
}

export function dropDraft(person: string): void {
  try {
    localStorage.removeItem(keyOf(person));
  } catch {
    // See keepDraft.
  }
}

/** Without its file: what is left when another one is to be chosen. */
export function withoutFile(draft: SendDraft): SendDraft {
  return { ...draft, key: uuid(), upload_id: null, filename: null, footage_id: null };
}
