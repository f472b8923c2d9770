import type { FieldError, Problem, ProblemCode } from './contract';

/** A refusal by the server, as RFC 9457 problem details. */
export class ProblemError extends Error {
  readonly problem: Problem;
  /** Seconds to wait before trying again, when the server says so. */
  readonly retryAfter: number | null;

  constructor(problem: Problem, retryAfter: number | null = null) {
    super(problem.detail);
    this.name = 'ProblemError';
    this.problem = problem;
    this.retryAfter = retryAfter;
  }

  get code(): ProblemCode {
    return this.problem.code;
  }

  get fields(): FieldError[] {
    return this.problem.errors ?? [];
  }
}

/** No answer at all: the connection or the server is gone. */
export class NetworkError extends Error {
  constructor(cause: unknown) {
    super('Refrain did not answer.', { cause });
    this.name = 'NetworkError';
  }
}

function isProblem(value: unknown): value is Problem {
  return typeof value === 'object' && value !== null && 'code' in value && 'detail' in value;
}

/** The problem an answer carries, or one made from its status when a proxy answered in the server's place. */
export async function problemOf(response: Response): Promise<ProblemError> {
  const wait = Number.parseInt(response.headers.get('Retry-After') ?? '', 10);
  const body: unknown = await response.json().catch(() => null);
  const problem: Problem = isProblem(body)
    ? body
    : {
        type: 'about:blank',
        title: response.statusText,
        status: response.status,
        detail: `The server answered with status ${response.status} and gave no reason.`,
        code: response.status >= 500 ? 'unavailable' : 'invalid-input',
      };
  return new ProblemError(problem, Number.isFinite(wait) ? wait : null);
}

/** What a person is told: what happened, what is safe, what to do. */
export interface Telling {
  happened: string;
  /** What was and was not kept, and the next step. */
  then: string;
  fields: FieldError[];
}

const next: Partial<Record<ProblemCode, string>> = {
  'sign-in-required': 'Sign in again; you will come back to this page.',
  'not-allowed': 'Nothing was changed. Ask the school’s office if you should be able to do this.',
  'not-found': 'It may have been taken back, or belong to someone else.',
  stale: 'Your version is still here. Load the newer one, then decide.',
  'request-forged': 'Nothing was changed. Reload the page and try again.',
  unavailable: 'Nothing was changed. Try again in a minute.',
  internal: 'Nothing was changed by this. Try again; if it stays, tell the school’s office when it happened.',
};

/** Turns whatever was thrown into words; `kept` says what is safe in the caller's case. */
export function tell(failure: unknown, kept = 'Nothing was changed.'): Telling {
  if (failure instanceof ProblemError) {
    const wait = failure.retryAfter ? ` Try again in ${waitWords(failure.retryAfter)}.` : '';
    return {
      happened: failure.problem.detail || failure.problem.title,
      then: (next[failure.code] ?? kept) + wait,
      fields: failure.fields,
    };
  }
  if (failure instanceof NetworkError)
    return { happened: failure.message, then: `${kept} Look at your connection, then try again.`, fields: [] };
  return { happened: 'This page failed.', then: `${kept} Reload it and try again.`, fields: [] };
}

function waitWords(seconds: number): string {
  if (seconds < 60) return seconds === 1 ? 'a second' : `${seconds} seconds`;
  const minutes = Math.ceil(seconds / 60);
  return minutes === 1 ? 'a minute' : `${minutes} minutes`;
}
