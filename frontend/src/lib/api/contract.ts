/**
 * Shapes of every request and answer. Times are ISO 8601 in UTC, dates `YYYY-MM-DD`, ids UUIDs. Frames are 0-based
 * indices into the footage's frame table, shown as index + the shot's first frame. Spans are inclusive. Positions are
 * fractions of the picture's width and height.
 */

export interface Problem {
  type: string;
  title: string;
  status: number;
  detail: string;
  instance?: string;
  code: ProblemCode;
  errors?: FieldError[];
  current?: unknown; /* the row as it is now, on code 'stale' */
}
export interface FieldError {
  field: string;
  reason: string;
  remedy?: string;
}
export type ProblemCode =
  | 'invalid-input'
  | 'sign-in-required'
  | 'sign-in-refused'
  | 'too-many-attempts'
  | 'not-allowed'
  | 'not-found'
  | 'link-spent'
  | 'request-forged'
  | 'stale'
  | 'quota-spent'
  | 'not-started'
  | 'key-reused'
  | 'already-opened'
  | 'already-released'
  | 'not-released'
  | 'not-ready'
  | 'footage-refused'
  | 'duplicate'
  | 'too-large'
  | 'conflict'
  | 'unavailable'
  | 'internal'
  | 'last-office';
export interface Page<T> {
  items: T[];
  next_cursor: string | null;
}

// ---- vocabulary (domain)
export type Role = 'mentor' | 'student' | 'office';
export type Kind = 'fix' | 'consider' | 'keep' | 'question';
export type Urgency = 'must' | 'should' | 'if-time';
export type Principle =
  | 'spacing'
  | 'timing'
  | 'arcs'
  | 'overlap'
  | 'contact'
  | 'weight'
  | 'posing'
  | 'anticipation'
  | 'staging'
  | 'acting'
  | 'facial'
  | 'polish';
export type Side = 'left' | 'right' | 'both';
export interface PartRef {
  part: string;
  side: Side | null;
} // part: a node of domain's tree, GET /vocabulary
export type Verdict = 'still' | 'eased' | 'cleared' | 'set-aside';
export type Standing = 'noted' | 'unmentioned' | 'eased' | 'cleared' | 'back' | 'set-aside';
export type Stage = 'layout' | 'blocking' | 'blocking-plus' | 'spline' | 'polish';
export type AnswerKind = 'will-do' | 'done' | 'leaving';
export interface Ask {
  what: 'add-frames' | 'remove-frames' | 'offset' | 'hold' | 'scale';
  amount: number;
} // frames, or times for scale
export interface Span {
  start: number;
  end: number;
}
export interface Region {
  x: number;
  y: number;
  w: number;
  h: number;
}
export interface Vocabulary {
  principles: { name: Principle; means: string }[];
  parts: { name: string; parent: string | null; sided: boolean }[];
  stages: Stage[];
}

// ---- school, sign-in
export interface School {
  slug: string;
  name: string;
  time_zone: string;
}
export interface SignIn {
  school: string;
  email: string;
  password: string;
}
export interface Me {
  id: string;
  name: string;
  email: string;
  roles: Role[];
  school: School;
  preferences: Preferences;
}
export interface Preferences {
  keys: Record<string, string>;
  ghost_earlier: string;
  ghost_later: string;
  pencil: string;
} // keys: command -> KeyboardEvent.code
export interface AccessLink {
  purpose: 'invitation' | 'reset';
  school: School;
  name: string;
  email: string;
}

// ---- people (office; mentors may list their students)
export interface Person {
  id: string;
  name: string;
  email: string;
  roles: Role[];
  invited_at: string | null;
  joined_at: string | null;
}
export interface NewPerson {
  name: string;
  email: string;
  roles: Role[];
}

// ---- courses
export interface Course {
  id: string;
  name: string;
  brief: string;
  granted: number;
  promise_days: number;
  assignments: Assignment[];
}
export interface NewCourse {
  name: string;
  brief: string;
  granted: number;
  promise_days: number;
}
export interface Assignment {
  id: string;
  course_id: string;
  title: string;
  brief: string;
}
export interface NewAssignment {
  title: string;
  brief: string;
}

// ---- enrolments = roster
export interface Enrolment {
  id: string;
  student: Named;
  mentor: Named;
  course: Named;
  starts_on: string;
  quota: Quota;
  last_sent_at: string | null;
  shots: number;
  open_concerns: number | null /* null for office */;
  joined: boolean;
}
export interface Named {
  id: string;
  name: string;
}
export interface Quota {
  granted: number;
  sent: number;
  returned: number;
  left: number;
  waiting: number;
  pegs: ('sent' | 'returned' | 'open')[];
} // waiting: sent, critique not released yet
export interface NewEnrolment {
  course_id: string;
  mentor_id: string;
  starts_on?: string;
  granted?: number;
  student_id?: string;
  student?: { name: string; email: string };
}
export interface QuotaEntry {
  id: string;
  kind: 'grant' | 'spend' | 'return' | 'expire' | 'adjust';
  amount: number;
  reason: string | null;
  by: string | null;
  at: string;
  submission_id: string | null;
}
export interface CsvPreview {
  rows: CsvRow[];
  problems: FieldError[];
} // field: "line 3, email"
export interface CsvRow {
  line: number;
  name: string;
  email: string;
  course: string;
  mentor: string;
  starts_on: string;
  submissions: number;
  effect: 'enrol' | 'unchanged' | 'problem';
}
export interface CsvResult {
  enrolled: number;
  unchanged: number;
}

// ---- uploads: tus 1.0 at /uploads (OPTIONS, POST -> 201 Location, HEAD, PATCH, DELETE), extensions creation, expiration, checksum (sha256), termination; Tus headers also satisfy: still send Refrain-Request: 1
export interface Upload {
  id: string;
  filename: string;
  length: number;
  received: number;
  state: 'receiving' | 'probing' | 'accepted' | 'refused';
  problem: Problem | null;
  footage_id: string | null;
  expires_at: string;
}

// ---- footage
export interface Footage {
  id: string;
  state: 'preparing' | 'ready' | 'failed' | 'cancelled';
  progress: number /* 0..1 */;
  problem: Problem | null;
  filename: string;
  width: number;
  height: number;
  frames: number;
  fps: { num: number; den: number } /* nominal */;
  variable: boolean;
  frame_table: { time_base: { num: number; den: number }; pts: number[]; last_duration: number } | null; // null unless ready
  copy: { width: number; height: number } | null;
  large: { width: number; height: number } | null;
  strip: { cells: number; cell_width: number; cell_height: number; frames: number[] } | null;
  sound: boolean;
}

// ---- shots and submissions (student; mentor reads)
export interface NewShot {
  enrolment_id: string;
  title: string;
  assignment_id?: string;
  first_frame: number;
}
export interface ShotSummary {
  id: string;
  title: string;
  enrolment_id: string;
  course: Named;
  student: Named;
  first_frame: number;
  revisions: RevisionSummary[];
  open_concerns: number;
}
export interface Shot extends ShotSummary {
  assignment: Named | null;
  enrolment_quota: Quota;
}
export interface RevisionSummary {
  id: string;
  number: number;
  stage: Stage;
  footage_id: string;
  footage_state: Footage['state'];
  frames: number | null;
  submission: Submission;
}
export interface NewSubmission {
  shot_id: string;
  footage_id: string;
  stage: Stage;
  words: string;
  first_frame?: number;
}
export interface Submission {
  id: string;
  shot_id: string;
  revision_id: string;
  number: number;
  stage: Stage;
  words: string;
  state: 'waiting' | 'opened' | 'released' | 'withdrawn' | 'returned';
  sent_at: string;
  promised_on: string;
  opened_at: string | null;
  released_at: string | null;
  return_reason: string | null;
  critique_id: string | null /* student: only once released */;
  quota: Quota;
}

// ---- desk (mentor)
export interface DeskRow {
  submission: Submission;
  shot: Named;
  student: Named;
  course: Named;
  revision: number;
  footage: Pick<Footage, 'id' | 'state' | 'progress' | 'frames' | 'strip'>;
  late_days: number /* <0: days left */;
  days_since_last: number | null;
  last_seen_at: string | null /* last critique of this student released */;
  concerns_open: number;
  is_new: boolean;
  drafted_notes: number;
  stage_changed_from: Stage | null;
}

// ---- critique page (mentor drafting, student reading once released)
export interface CritiquePage {
  id: string;
  state: 'draft' | 'releasing' | 'released';
  release_at: string | null /* when releasing: leaves then */;
  released_at: string | null;
  summary: string;
  version: number;
  may_edit: boolean;
  shot: { id: string; title: string; first_frame: number; course: Named };
  student: Named;
  mentor: Named;
  submission: Submission;
  revision: { id: string; number: number; stage: Stage };
  footage: Footage;
  days_since_last: number | null;
  last_critique: {
    critique_id: string;
    number: number;
    released_at: string;
    summary: string;
    notes: NoteLine[];
  } | null;
  revisions: EarlierRevision[]; // r1..r(n-1), oldest first
  carried: CarriedConcern[]; // all but set-aside, open first
  notes: Note[]; // of this critique
  strokes: Stroke[];
  traces: Trace[];
  amendments: Amendment[];
}
export interface NoteLine {
  kind: Kind;
  words: string;
  concern_id: string;
}
export interface EarlierRevision {
  id: string;
  number: number;
  stage: Stage;
  sent_at: string;
  footage: Footage;
  critique_id: string | null;
  map: FrameMap;
  notes: EarlierNote[];
  strokes: Stroke[];
}
export interface EarlierNote extends Note {
  mapped: Span;
  unsure: boolean;
  standing: Standing;
} // mapped: on today's frames
export interface FrameMap {
  old_frames: number;
  new_frames: number;
  to_new: (number | null)[] /* per old frame */;
  confidence: number[] /* 0..1 per old frame */;
  method: string; /* 'proportional' */
}
export interface CarriedConcern {
  concern: Concern;
  mapped: Span;
  unsure: boolean;
  verdict: { verdict: Verdict; version: number } | null;
  standing: Standing /* with the verdict */;
  standing_before: Standing;
}
export interface Concern {
  id: string;
  title: string;
  kind: Kind;
  urgency: Urgency;
  principles: Principle[];
  parts: PartRef[];
  history: { revision: number; standing: Standing; note_id: string | null; span: Span | null }[];
}
export interface Note {
  id: string;
  critique_id: string;
  concern_id: string;
  revision: number;
  kind: Kind;
  urgency: Urgency;
  principles: Principle[];
  parts: PartRef[];
  span: Span;
  region: Region | null;
  words: string;
  ask: Ask | null;
  version: number;
  updated_at: string;
  answer: Answer | null;
}
// A note with no words yet is allowed in a draft; release refuses such notes (422, names them).
export interface NoteDraft {
  version: number;
  kind: Kind;
  urgency: Urgency;
  principles: Principle[];
  parts: PartRef[];
  span: Span;
  region: Region | null;
  words: string;
  ask: Ask | null;
  concern_id: string | null; /* tie to an earlier concern; null: its own */
}
export interface Stroke {
  id: string;
  frame: number;
  hold_to: number /* = frame unless held over a span */;
  note_id: string | null;
  color: string /* #rrggbb */;
  size: number /* picture heights */;
  pen: boolean;
  points: [number, number, number][]; /* x, y, pressure 0..1 */
}
export interface Trace {
  id: string;
  part: PartRef | null;
  color: string;
  dots: { frame: number; x: number; y: number }[];
}
export interface Amendment {
  id: string;
  note_id: string | null;
  words: string;
  by: string;
  at: string;
}
export interface Answer {
  kind: AnswerKind;
  words: string;
  at: string;
}

// ---- refrain
export interface RefrainShot {
  shot: Named;
  first_frame: number;
  quota: Quota;
  revisions: {
    id: string;
    number: number;
    sent_at: string;
    critique_id: string | null;
    footage_id: string;
    released: boolean;
  }[];
  groups: RefrainGroup[];
}
export interface RefrainGroup {
  principle: Principle | null;
  keep: boolean;
  rows: RefrainRow[];
} // keep: praise group, last
export interface RefrainRow {
  concern: Concern;
  cells: RefrainCell[];
  came_back_after: number | null /* revisions it stayed away */;
  cleared_in: number | null; /* revision number */
}
export interface RefrainCell {
  revision: number;
  standing: Standing | null /* null: before it was noted */;
  span: Span | null;
  note_id: string | null;
  words: string | null;
  critique_id: string | null;
}

// ---- archive
export interface Hit {
  sort: 'note' | 'answer' | 'amendment';
  id: string;
  note_id: string | null;
  critique_id: string;
  shot: Named;
  student: Named;
  revision: number;
  kind: Kind | null;
  principles: Principle[];
  parts: PartRef[];
  span: Span | null;
  first_frame: number;
  footage_id: string;
  at: string;
  fragments: { text: string; hit: boolean }[];
}
export interface HitPage extends Page<Hit> {
  total: number;
}
export interface ArchiveQuery {
  q?: string;
  principle?: Principle;
  part?: string;
  kind?: Kind;
  student?: string;
  shot?: string;
  from?: string;
  to?: string;
  limit?: number;
  cursor?: string;
}
