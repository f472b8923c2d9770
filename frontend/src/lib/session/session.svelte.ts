import { redirect } from '@sveltejs/kit';
import { client, ok, ProblemError, type Me, type Role } from '$lib/api';

const SCHOOL_KEY = 'refrain.school';

/** Who is signed in, as far as this window knows. */
class Session {
  me = $state<Me | null>(null);

  /** Asks the server; null when nobody is signed in. */
  async load(): Promise<Me | null> {
    try {
      this.enter(await ok(client.GET('/me')));
    } catch (failure) {
      if (!(failure instanceof ProblemError && failure.code === 'sign-in-required')) throw failure;
      this.me = null;
    }
    return this.me;
  }

  enter(me: Me): void {
    this.me = me;
    rememberSchool(me.school.slug);
  }

  has(role: Role): boolean {
    return this.me?.roles.includes(role) ?? false;
  }
}

export const session = new Session();

function rememberSchool(slug: string): void {
  try {
    localStorage.setItem(SCHOOL_KEY, slug);
  } catch {
    // A browser that keeps nothing asks for the sign-in address again; everything else works.
  }
}

/** The school last signed in to from this browser. */
export function lastSchool(): string | null {
  try {
    return localStorage.getItem(SCHOOL_KEY);
  } catch {
    return null;
  }
}

/** The sign-in page that leads back to `url`; the page that explains sign-in addresses when no school is known. */
export function signInPath(url: URL): string {
  const school = session.me?.school.slug ?? lastSchool();
  const to = encodeURIComponent(url.pathname + url.search + url.hash);
  return school ? `/in/${encodeURIComponent(school)}?to=${to}` : `/?to=${to}`;
}

/** For `load` functions: who is asking, or off to the sign-in page and back. */
export async function requireMe(url: URL): Promise<Me> {
  const me = session.me ?? (await session.load());
  if (!me) redirect(307, signInPath(url));
  return me;
}
