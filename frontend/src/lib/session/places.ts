import type { Role } from '$lib/api';

/** A page of the navigation. */
export interface Place {
  href: string;
  name: string;
}

const byRole: [Role, Place[]][] = [
  [
    'mentor',
    [
      { href: '/desk', name: 'Desk' },
      { href: '/roster', name: 'Roster' },
      { href: '/archive', name: 'Archive' },
      { href: '/words', name: 'Words' },
    ],
  ],
  [
    'student',
    [
      { href: '/shots', name: 'My shots' },
      { href: '/refrain', name: 'My refrain' },
      { href: '/archive', name: 'Archive' },
    ],
  ],
  [
    'office',
    [
      { href: '/office', name: 'Office' },
      { href: '/roster', name: 'Roster' },
      { href: '/words', name: 'Words' },
    ],
  ],
];

/** The pages a person of these roles goes between, each once. */
export function placesOf(roles: readonly Role[]): Place[] {
  const places: Place[] = [];
  for (const [role, own] of byRole)
    if (roles.includes(role)) places.push(...own.filter((place) => !places.some((there) => there.href === place.href)));
  return places;
}

/** Where a person of these roles starts. */
export function homeOf(roles: readonly Role[]): string {
  return placesOf(roles)[0]?.href ?? '/you';
}

/** Only a path of this very site is followed after signing in. */
export function safeReturn(to: string | null): string | null {
  return to && /^\/(?![/\\])/.test(to) ? to : null;
}
