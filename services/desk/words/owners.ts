// Which pages each role may begin with, holding nothing.

/** Addresses by role, in the order in which they are offered. */
export const PAGES_OF_ROLES: Readonly<Record<string, readonly string[]>> = {
  quality: [
    ...['/waiting', '/origins', '/reach', '/causes', '/rates', '/recall', '/floor', '/drill'],
    ...['/set-aside', '/inquiry'],
  ],
  service: ['/inquiry', '/calls', '/waiting'],
  analyst: ['/rates', '/causes', '/origins', '/waiting'],
  admin: ['/waiting', '/set-aside'],
}

/** Whose page it is, when it is of none of these roles. */
export function ownersOf(path: string, roles: readonly string[]): string[] {
  const owners = Object.keys(PAGES_OF_ROLES).filter((role) => PAGES_OF_ROLES[role]!.includes(path))
  return owners.some((role) => roles.includes(role)) ? [] : owners
}
