import type { FastifyInstance, FastifyRequest } from 'fastify';
import fastifyPlugin from 'fastify-plugin';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { validate as isUuid } from 'uuid';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { rememberSeason } from '../../accounts/session.ts';
import { sessionToken } from '../../accounts/session-cookie.ts';
import { wantsProblem } from '../../web/problem.ts';
import { seasonOf } from '../seasons.ts';
import { readSeasonsShown, type SeasonsShown, seasonsAt, thingIn } from '../seasons-shown.ts';

declare module 'fastify' {
  interface FastifyRequest {
    /** The conference's seasons, and which of them a page is about; null where no page is asked for. */
    seasonsShown: SeasonsShown | null;
  }
}

/**
 * Every page is about one season, which stands at its top. A page that belongs to a season (by its address, or by the
 * game, report or letter it shows) is about that one, and is remembered; any other follows what is remembered. Whoever is
 * led to another season so is told, with the way back: what the page leads to would be of the wrong season else.
 */
export const seasonSwitch = fastifyPlugin(async (app: FastifyInstance) => {
  const { database } = app;
  app.decorateRequest('seasonsShown', null);

  app.addHook('onRequest', async (request) => {
    const { session } = request;
    if (!session || wantsProblem(request) || request.url.startsWith('/assets/')) return;
    const thing = thingIn((request.params ?? {}) as Record<string, string | undefined>);
    request.seasonsShown = await readSeasonsShown(
      database.asking,
      session.conferenceId,
      session.seasonId,
      thing && isUuid(thing.id) ? thing : undefined,
    );
  });

  app.addHook('onSend', async (request, reply) => {
    const isPage = String(reply.getHeader('content-type') ?? '').startsWith('text/html');
    const { session, seasonsShown } = request;
    if (!isPage || !session || !seasonsShown) return;
    // Also of a form that is shown again with what is wrong in it: its page says the same, and leads on as well.
    const { inView } = seasonsAt(reply.statusCode, seasonsShown);
    if (inView) await remember(request, inView.id);
  });

  /** The current season is not chosen but followed: whoever looks at it sees the next one once that is current. */
  async function remember(request: FastifyRequest, seasonId: string): Promise<void> {
    const chosen = seasonId === request.seasonsShown?.current?.id ? null : seasonId;
    const token = sessionToken(request);
    if (token === undefined || chosen === sessionOf(request).seasonId) return;
    await rememberSeason(database.pool, token, chosen);
  }

  app.withTypeProvider<ZodTypeProvider>().post(
    '/season-in-view',
    {
      config: { policy: policies.staff },
      schema: { hide: true, body: z.object({ season: z.uuid(), page: z.string().max(2000).default('/') }) },
    },
    async (request, reply) => {
      const { season, page } = request.body;
      const { id } = await seasonOf(database, sessionOf(request).conferenceId, season);
      await remember(request, id);
      return reply.redirect(samePageIn(page, id), 303);
    },
  );
});

const uuid = /[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}/i;

/** The address of the same page of another season, or of the list that it is reached from. */
export function samePageIn(path: string, seasonId: string): string {
  const [, rest = ''] = /^\/seasons\/[^/]+(\/.*)?$/.exec(path) ?? [path, null];
  if (path.startsWith('/seasons/') && rest !== null) {
    const [section] = rest.split('/').filter(Boolean);
    const hasList = section !== undefined && sectionsOfASeason.has(section);
    return `/seasons/${seasonId}${hasList ? `/${section}` : ''}`;
  }
  // Only a page of ours: two slashes would lead to another host.
  if (!/^\/(?!\/)[\w/.-]*$/.test(path)) return '/';
  if (!uuid.test(path) && !/\d+$/.test(path)) return path;
  return listOf.find(([start]) => path.startsWith(start))?.[1] ?? '/';
}

const sectionsOfASeason = new Set([
  'standings',
  'severity',
  'patterns',
  'letters',
  'rubric',
  'crews',
  'settings',
  'officials',
  'plays',
  'postseason',
  'official-facts',
  'quizzes',
  'clinics',
  'training',
  'calibration',
  'weeks',
  'availability',
  'find',
]);

/** Where a page about one thing is reached from, in any season. */
const listOf: readonly [string, string][] = [
  ['/reports/', '/reports'],
  ['/replies/', '/replies'],
  ['/observers/people/', '/observers/people'],
  ['/observers/', '/observers'],
  ['/observations/', '/my/marks'],
  ['/my/assignments', '/my/assignments'],
  ['/people/', '/people'],
  ['/postseason/', '/postseason'],
  ['/inquiries/', '/inquiries'],
  ['/quizzes/', '/quizzes'],
  ['/clinics/', '/clinics'],
  ['/my/postseason/', '/my/postseason'],
  ['/my/committee/', '/my/committee'],
  ['/my/quizzes/', '/my/quizzes'],
  ['/my/training/', '/my/training'],
];
