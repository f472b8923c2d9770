/**
 * Names for the shapes of the API's own description. Times are ISO 8601 in UTC, dates `YYYY-MM-DD`, ids UUIDs. Frames are
 * 0-based indices into the footage's frame table, shown as index + the shot's first frame. Spans are inclusive. Positions
 * are fractions of the picture's width and height.
 */
import type { components, operations, paths as described } from './schema.gen';

type Schemas = components['schemas'];

/** The operations as the client calls them: below `/api/v1`. */
export type paths = {
  [P in keyof described as P extends `/api/v1${infer Below}` ? Below : never]: described[P];
};

/** One page of a list; every list of the description has this form. */
export interface Page<T> {
  items: T[];
  next_cursor: string | null;
}

export type Problem = Schemas['Problem'];
export type FieldError = Schemas['FieldError'];
export type ProblemCode = Schemas['ProblemCode'];

export type Role = Schemas['Role'];
export type Kind = Schemas['Kind'];
export type Urgency = Schemas['Urgency'];
export type Principle = Schemas['Principle'];
export type PartRef = Schemas['PartRef'];
export type Side = Schemas['Side'];
export type Verdict = Schemas['Verdict'];
export type Standing = Schemas['Standing'];
export type Stage = Schemas['Stage'];
export type AnswerKind = Schemas['AnswerKind'];
export type Ask = Schemas['Ask'];
export type Span = Schemas['Span'];
export type Region = Schemas['Region'];
export type Vocabulary = Schemas['Vocabulary'];

export type Me = Schemas['Me'];
export type Preferences = Schemas['Preferences'];
export type Person = Schemas['Person'];
export type NewPerson = Schemas['NewPerson'];

export type Course = Schemas['Course'];
export type NewCourse = Schemas['NewCourse'];
export type Assignment = Schemas['Assignment'];
export type NewAssignment = Schemas['NewAssignment'];
export type Enrolment = Schemas['Enrolment'];
export type Named = Schemas['Named'];
export type Quota = Schemas['Quota'];
export type NewEnrolment = Schemas['NewEnrolment'];
export type QuotaEntry = Schemas['QuotaEntry'];
export type CsvPreview = Schemas['CsvPreview'];
export type CsvResult = Schemas['CsvResult'];

export type Upload = Schemas['Upload'];
export type Footage = Schemas['Footage'];
export type ShotSummary = Schemas['ShotSummary'];
export type Shot = Schemas['Shot'];
export type RevisionSummary = Schemas['RevisionSummary'];
export type Submission = Schemas['Submission'];
export type DeskRow = Schemas['DeskRow'];

export type CritiquePage = Schemas['CritiquePage'];
export type EarlierRevision = Schemas['EarlierRevision'];
export type EarlierNote = Schemas['EarlierNote'];
export type FrameMap = Schemas['FrameMap'];
export type CarriedConcern = Schemas['CarriedConcern'];
export type Concern = Schemas['Concern'];
export type Note = Schemas['Note'];
export type NoteDraft = Schemas['NoteDraft'];
export type Stroke = Schemas['Stroke'];
export type Trace = Schemas['Trace'];
export type Suggestions = Schemas['Suggestions'];
export type SuggestedConcern = Schemas['SuggestedConcern'];
export type ShownSuggestion = Schemas['ShownSuggestion'];
export type ShownSuggestions = Schemas['ShownSuggestions'];
export type SuggestionField = Schemas['SuggestionField'];
export type TakenSuggestions = Schemas['TakenSuggestions'];
export type TakenField = Schemas['TakenField'];
export type TypedNote = Schemas['TypedNote'];
export type Amendment = Schemas['Amendment'];
export type Answer = Schemas['Answer'];

export type RefrainShot = Schemas['RefrainShot'];
export type RefrainGroup = Schemas['RefrainGroup'];
export type RefrainRow = Schemas['RefrainRow'];
export type RefrainHabits = Schemas['RefrainHabits'];
export type RefrainHabit = Schemas['RefrainHabit'];
export type HabitClearing = Schemas['HabitClearing'];
export type RefrainPlan = Schemas['RefrainPlan'];

export type WordTable = Schemas['WordTable'];
export type LexiconTable = Schemas['LexiconTable'];
export type LexiconWord = Schemas['LexiconWord'];
export type LexiconTags = Schemas['LexiconTags'];
export type LexiconTried = Schemas['LexiconTried'];
export type NewLexiconWord = Schemas['NewLexiconWord'];
export type RefrainCell = Schemas['RefrainCell'];
export type Hit = Schemas['Hit'];

/** What the archive is asked. */
export type ArchiveQuery = NonNullable<operations['search_archive']['parameters']['query']>;
