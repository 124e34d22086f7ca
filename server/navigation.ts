import type { FastifyRequest } from 'fastify';
import { type Role, staffRoles } from './accounts/roles.ts';
import { masked } from './accounts/token.ts';
import { menuCounts } from './desk/menu-counts.ts';
import { stateInWords } from './schedule/season-states.ts';
import { seasonsAt } from './schedule/seasons-shown.ts';

type NavigationItem = { label: string; href: string; roles: Role[] };

/** The main menu, in order. A new page for a role gets a line here. */
export const navigation: NavigationItem[] = [
  { label: 'My desk', href: '/desk', roles: ['coordinator', 'observer', 'official'] },
  { label: 'Inquiries', href: '/my/inquiries', roles: ['team contact'] },
  { label: 'Messages', href: '/messages', roles: ['coordinator', 'observer', 'official', 'team contact'] },
  { label: 'Season', href: '/season', roles: ['coordinator'] },
  { label: 'Reports', href: '/reports', roles: ['coordinator'] },
  { label: 'Standings', href: '/standings', roles: ['coordinator'] },
  { label: 'Inquiries', href: '/inquiries', roles: ['coordinator'] },
  { label: 'Postseason', href: '/postseason', roles: ['coordinator'] },
  { label: 'Observers', href: '/observers', roles: ['coordinator'] },
  { label: 'Rubric', href: '/rubric', roles: ['coordinator', 'observer', 'official'] },
  { label: 'Patterns', href: '/patterns', roles: ['coordinator'] },
  { label: 'Training', href: '/training', roles: ['coordinator'] },
  { label: 'Quizzes', href: '/quizzes', roles: ['coordinator'] },
  { label: 'My games', href: '/my/games', roles: ['observer'] },
  { label: 'My assignments', href: '/my/assignments', roles: ['observer'] },
  { label: 'Clips to mark', href: '/my/calibration', roles: ['observer'] },
  { label: 'Committees', href: '/my/committee', roles: ['observer'] },
  { label: 'Letters', href: '/letters', roles: ['coordinator'] },
  { label: 'My evaluation', href: '/my/evaluation', roles: ['official'] },
  { label: 'My marks', href: '/my/marks', roles: ['official'] },
  { label: 'My patterns', href: '/my/patterns', roles: ['official'] },
  { label: 'My letters', href: '/my/letters', roles: ['official'] },
  { label: 'My postseason', href: '/my/postseason', roles: ['official'] },
  { label: 'My training', href: '/my/training', roles: ['observer', 'official'] },
  { label: 'My quizzes', href: '/my/quizzes', roles: ['official'] },
  { label: 'When I am away', href: '/my/seasons', roles: ['official'] },
  { label: 'Import', href: '/import', roles: ['coordinator'] },
  { label: 'People', href: '/people', roles: ['coordinator'] },
  { label: 'Setting up', href: '/setup', roles: ['coordinator'] },
  { label: 'History', href: '/trail', roles: ['coordinator'] },
];

/** What the layout shows around every page: who is signed in, their menu, and where they are in it. */
export function surroundings(request: FastifyRequest, status: number) {
  const session = request.session ?? null;
  const path = request.url.split('?')[0] ?? '/';
  // What was read before a form did its work no longer holds after it.
  const holds = request.method === 'GET' || status >= 400;
  const counts = request.desk && holds ? menuCounts(request.desk) : null;
  const menu =
    session && !session.mustEnrol
      ? navigation
          .filter((item) => item.roles.some((role) => session.roles.has(role)))
          .map((item) => ({
            ...item,
            here: isUnder(section(path), item.href),
            waiting: item.href === '/messages' ? request.unread || undefined : counts?.get(item.href),
          }))
      : [];
  return {
    session,
    csrf: session ? masked(session.csrfToken) : '',
    path,
    menu,
    seasons: seasonsAround(request, status),
  };
}

/** What the layout says about seasons: which one the page is about, which others there are. */
function seasonsAround({ seasonsShown, session }: FastifyRequest, status: number) {
  if (!seasonsShown || !session || session.mustEnrol) return null;
  // A team's contact sees the games of all seasons on one page.
  if (!staffRoles.some((role) => session.roles.has(role))) return null;
  const { all, current, inView, until } = seasonsAt(status, seasonsShown);
  if (!inView) return null;
  return {
    inView,
    until,
    isClosed: inView.state === 'closed',
    isOpen: inView.state === 'open',
    current: current && current.id !== inView.id && current.id !== until?.id ? current : null,
    all: all.map((season) => ({
      ...season,
      words: [season.id === current?.id ? 'current' : '', stateInWords[season.state]]
        .filter(Boolean)
        .join(', '),
      here: season.id === inView.id,
    })),
    several: all.length > 1,
    coordinator: session.roles.has('coordinator'),
  };
}

/** Pages of one season belong to the menu's entry of the same name: /seasons/ID/standings to Standings. */
function section(path: string): string {
  const inSeason = /^\/seasons\/[^/]+(\/.*)?$/.exec(path);
  if (!inSeason) return /^\/(clinics|quiz-questions)(\/|$)/.test(path) ? '/quizzes' : path;
  const rest = inSeason[1] ?? '/season';
  if (/^\/(severity|officials\/[^/]+\/why)(\/|$)/.test(rest)) return '/standings';
  if (/^\/calibration(\/|$)/.test(rest)) return '/training';
  if (/^\/official-facts(\/|$)/.test(rest)) return '/postseason';
  if (/^\/(clinics|quiz-questions)(\/|$)/.test(rest)) return '/quizzes';
  return /^\/(officials|plays)(\/|$)/.test(rest) ? '/season' : rest;
}

const isUnder = (path: string, href: string) => path === href || path.startsWith(`${href}/`);
