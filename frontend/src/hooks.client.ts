import type { HandleClientError } from '@sveltejs/kit';
import { ProblemError, tell } from '$lib/api';

/** What the error page shows when a page could not be loaded at all. */
export const handleError: HandleClientError = ({ error, status, message }) => {
  if (status === 404) return { message, missing: true };
  const { happened, then } = tell(error, 'Nothing was lost.');
  return { message: happened, then, missing: error instanceof ProblemError && error.code === 'not-found' };
};
