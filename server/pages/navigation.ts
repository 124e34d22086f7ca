import type { Role } from '../accounts/roles.ts';

export type NavigationItem = { label: string; href: string; roles: Role[] };

/** The main menu, in order. A new page for a role gets a line here. */
export const navigation: NavigationItem[] = [
  { label: 'Season', href: '/season', roles: ['coordinator'] },
  { label: 'Reports', href: '/reports', roles: ['coordinator'] },
  { label: 'Standings', href: '/standings', roles: ['coordinator'] },
  { label: 'Observers', href: '/observers', roles: ['coordinator'] },
  { label: 'Rubric', href: '/rubric', roles: ['coordinator', 'observer', 'official'] },
  { label: 'Patterns', href: '/patterns', roles: ['coordinator'] },
  { label: 'My games', href: '/my/games', roles: ['observer'] },
  { label: 'My assignments', href: '/my/assignments', roles: ['observer'] },
  { label: 'Letters', href: '/letters', roles: ['coordinator'] },
  { label: 'My evaluation', href: '/my/evaluation', roles: ['official'] },
  { label: 'My marks', href: '/my/marks', roles: ['official'] },
  { label: 'My patterns', href: '/my/patterns', roles: ['official'] },
  { label: 'My letters', href: '/my/letters', roles: ['official'] },
  { label: 'Import', href: '/import', roles: ['coordinator'] },
  { label: 'People', href: '/people', roles: ['coordinator'] },
  { label: 'Trail', href: '/trail', roles: ['coordinator'] },
];
