import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { type Role, staffRoles } from '../../accounts/roles.ts';
import { listOwnSets } from '../../calibration/stores/set-rows.ts';
import { loadAssignments } from '../../observers/own-assignments.ts';
import { ownQuizzes } from '../../quizzes/pages/my-quiz-view.ts';
import { waitingForCoordinator } from '../../reports/review/report-lines.ts';
import { counted, ofSeasonInView } from '../../schedule/pages/elsewhere.ts';
import { weekNow } from '../../schedule/week-now.ts';
import { readSetupFacts } from '../../setup/facts-store.ts';
import { isSetUp, nextStep, setupSteps } from '../../setup/steps.ts';
import { readTrainingStands } from '../../watching/stores/stands-store.ts';
import { isThrough, listToWatch } from '../../watching/stores/viewer-store.ts';
import { formOf, textOf } from '../../web/form.ts';
import { dayIn } from '../../web/today.ts';
import type { Desk } from '../desk.ts';
import { readAhead } from '../stores/ahead-store.ts';
import { readLookFacts } from '../stores/look-facts-store.ts';
import { readWeekGames } from '../stores/week-games-store.ts';
import { whatIsNext } from '../what-is-next.ts';
import { worthALook } from '../worth-a-look.ts';
import { coordinatorView } from './coordinator-view.ts';
import { unreadForDesk } from './message-pages.ts';
import { observerView } from './observer-view.ts';
import { officialView } from './official-view.ts';

/** A team's contact has no desk: what they may see is one page. */
const firstPage = (held: ReadonlySet<Role>) =>
  staffRoles.some((role) => held.has(role))
    ? '/desk'
    : held.has('team contact')
      ? '/my/inquiries'
      : '/my/account';

/** The first page after signing in: for each role of a person what waits for them. */
export async function deskPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;

  pages.get('/', { config: { policy: policies.open }, schema: { hide: true } }, async (request, reply) =>
    reply.redirect(request.session ? firstPage(request.session.roles) : '/sign-in'),
  );

  pages.get(
    '/desk',
    { config: { policy: policies.staff }, schema: { hide: true } },
    async (request, reply) => {
      const { personId, roles } = sessionOf(request);
      const { desk } = request;
      return reply.page(
        'desk/desk',
        {
          personId,
          unread: request.unread,
          messages: request.unread > 0 ? await unreadForDesk(app, request) : [],
          toWatch: (await listToWatch(pool, sessionOf(request))).filter((one) => !isThrough(one)),
          toTake: roles.has('official') ? await quizzesToTake(request) : [],
          toTakeZone: sessionOf(request).timeZone,
          toMark: roles.has('observer') ? await clipsToMark(request) : [],
          stands: roles.has('coordinator') ? await trainingStands(request) : null,
          several: roles.size > 1,
          asked: (desk?.asked ?? []).map((one) => ({
            ...one,
            isStatement: one.of === 'statement',
            href: `/inquiries/${one.inquiryId}/${one.of === 'statement' ? 'statement' : 'second-reading'}`,
          })),
          coordinator: roles.has('coordinator') ? await forCoordinator(request, desk) : null,
          observer: roles.has('observer')
            ? {
                ...observerView(desk?.observer ?? null, desk?.now),
                elsewhere: await offersElsewhere(request),
              }
            : null,
          official: roles.has('official') ? officialView(desk?.official ?? null, desk?.now) : null,
        },
        { title: 'My desk', ...(roles.has('observer') ? { scripts: ['my-games'] } : {}) },
      );
    },
  );

  async function clipsToMark(request: FastifyRequest) {
    const { conferenceId, personId } = sessionOf(request);
    const sets = await listOwnSets(pool, conferenceId, personId);
    return sets.filter(({ state, handedIn }) => state === 'open' && !handedIn);
  }

  async function quizzesToTake(request: FastifyRequest) {
    const quizzes = await ownQuizzes(app, sessionOf(request));
    return quizzes.filter(({ running, toDo }) => running || toDo);
  }

  async function trainingStands(request: FastifyRequest) {
    const { conferenceId, timeZone } = sessionOf(request);
    const season = request.seasonsShown?.inView;
    if (!season) return null;
    const stands = await readTrainingStands(pool, conferenceId, season.id, dayIn(timeZone));
    return stands.objections.length + stands.unwatched.length > 0 ? stands : null;
  }

  async function forCoordinator(request: FastifyRequest, desk: Desk | null) {
    const { conferenceId } = sessionOf(request);
    const season = request.seasonsShown?.inView ?? null;
    const steps = setupSteps(await readSetupFacts(pool, conferenceId, season?.id ?? null));
    const setup = isSetUp(steps)
      ? null
      : { next: nextStep(steps), left: steps.filter(({ state }) => state !== 'done').length };
    if (!desk?.coordinator || !season) return { setup, noSeason: true };
    const { facts, waits } = desk.coordinator;
    const closed = season.state === 'closed';
    const week = weekNow(facts.weeks, facts.gameDays, facts.today);
    const { kind, all } = formOf(request.query);
    return {
      setup,
      ...coordinatorView({
        seasonId: season.id,
        now: desk.now,
        waits,
        look: closed ? [] : worthALook(await readLookFacts(pool, conferenceId, season.id)),
        next: whatIsNext({
          seasonId: season.id,
          closed,
          ...(await readAhead(pool, conferenceId, season.id, desk.now)),
        }),
        week,
        days: facts.weeks.find(({ number }) => number === week),
        games: week === null ? [] : await readWeekGames(pool, conferenceId, season.id, week),
        chosen: textOf(kind),
        all: textOf(all) === 'yes',
      }),
      elsewhere: ofSeasonInView(
        request,
        await waitingForCoordinator(pool, conferenceId),
        (others) => `${counted(others.length, 'thing')} to review, release or rule on`,
      ).elsewhere,
    };
  }

  async function offersElsewhere(request: FastifyRequest) {
    const { conferenceId, personId } = sessionOf(request);
    const closed = new Set(
      request.seasonsShown?.all.filter(({ state }) => state === 'closed').map(({ id }) => id),
    );
    const offers = (await loadAssignments(pool, conferenceId, personId)).filter(
      ({ answer, seasonId }) => answer === 'offered' && !closed.has(seasonId),
    );
    return ofSeasonInView(request, offers, (others) => `${counted(others.length, 'offer')} to answer`)
      .elsewhere;
  }
}
