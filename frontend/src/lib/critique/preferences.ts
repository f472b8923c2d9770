import { client, ok, type Preferences } from '$lib/api';
import { session } from '$lib/session';

/** Changes some of a person's preferences and keeps them with the person. */
export async function prefer(patch: Partial<Preferences>): Promise<void> {
  const { me } = session;
  if (!me) return;
  session.enter(await ok(client.PUT('/me/preferences', { body: { ...me.preferences, ...patch } })));
}

/** What neighbouring frames and the pencil are drawn in until a person chooses. */
const GHOSTS = { earlier: '#6fb7ff', later: '#c9e265' } as const;
const PENCIL = '#7fb2e5';

export const ghostColours = (): { earlier: string; later: string } => ({
  earlier: session.me?.preferences.ghost_earlier || GHOSTS.earlier,
  later: session.me?.preferences.ghost_later || GHOSTS.later,
});

export const pencilColour = (): string => session.me?.preferences.pencil || PENCIL;
