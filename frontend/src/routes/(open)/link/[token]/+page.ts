import { client, ok, ProblemError } from '$lib/api';

export async function load({ params }) {
  const link = await ok(client.GET('/access-links/{token}', { params: { path: { token: params.token } } })).catch(
    (failure: unknown) => {
      if (failure instanceof ProblemError && ['link-spent', 'not-found'].includes(failure.code)) return null;
      throw failure;
    },
  );
  return { token: params.token, link };
}
