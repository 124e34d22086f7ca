export const roles = ['coordinator', 'observer', 'official'] as const;
export type Role = (typeof roles)[number];
