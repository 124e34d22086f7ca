export const roles = ['coordinator', 'observer', 'official', 'team contact'] as const;
export type Role = (typeof roles)[number];

/** Those who work for the conference; a team's contact asks about the plays of one team and sees nothing else. */
export const staffRoles = ['coordinator', 'observer', 'official'] as const satisfies readonly Role[];
export type StaffRole = (typeof staffRoles)[number];

/** Who speaks for a team belongs to no crew, observes nothing and runs nothing. */
export const onlyContact = 'A team’s contact has no other role: choose that one alone, or leave it out.';
export const fitsTogether = (chosen: readonly Role[]): boolean =>
  !chosen.includes('team contact') || chosen.every((role) => role === 'team contact');

/** "coordinator, official": always in the same order. */
export const rolesText = (held: Iterable<Role>): string => {
  const set = new Set(held);
  return roles.filter((role) => set.has(role)).join(', ') || 'none';
};
