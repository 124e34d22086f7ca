export const roles = ['coordinator', 'observer', 'official'] as const;
export type Role = (typeof roles)[number];

/** "coordinator, official": always in the same order. */
export const rolesText = (held: Iterable<Role>): string => {
  const set = new Set(held);
  return roles.filter((role) => set.has(role)).join(', ') || 'none';
};
