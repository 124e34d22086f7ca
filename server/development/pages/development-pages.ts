import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Session } from '../../accounts/session.ts';
import type { Verdict } from '../../patterns/follow-up/follow-up.ts';
import { followUpWords } from '../../results/patterns/follow-up-words.ts';
import { type Names, readNames } from '../../results/patterns/named-patterns.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { errorsOf, type Form, type FormErrors, formOf, textOf } from '../../web/form.ts';
import { dayIn } from '../../web/today.ts';
import { type FollowedPoint, followedPoint } from '../followed-points.ts';
import { openPointWithEvidence } from '../open-point.ts';
import { newPointSchema, newStepSchema, turnSchema } from '../point.ts';
import { noteStep, removeStep, turnPoint } from '../point-store.ts';
import { misses } from './peers-miss.ts';

const verdictTone: Record<Verdict, string> = {
  'fewer misses': 'good',
  'more misses': 'bad',
  'no change shown': 'warn',
  'too early to tell': '',
  'cannot be told': '',
};

/** A point as pages show it, in words. */
export function pointView(point: FollowedPoint, names: Pick<Names, 'duties' | 'people'>) {
  const { followUp, sinceClosing } = point.progress;
  return {
    ...point,
    official: names.people.get(point.personId),
    title: names.duties.get(point.dutyKey)?.title ?? point.dutyKey,
    guidance: names.duties.get(point.dutyKey)?.guidance ?? '',
    open: point.state === 'open',
    told: point.progress.raisedOn,
    followUp: followUp && {
      ...followUp,
      tone: verdictTone[followUp.verdict],
      early: followUp.verdict === 'too early to tell',
      stillNeeded:
        followUp.opportunitiesNeeded === null
          ? null
          : Math.max(0, followUp.opportunitiesNeeded - followUp.after.opportunities),
      words: followUpWords(followUp),
      told: followUp.looks > 0 && !['too early to tell', 'cannot be told'].includes(followUp.verdict),
      p: followUp.verdict === 'more misses' ? followUp.pMore : followUp.pFewer,
    },
    sinceClosing,
    peersMiss: misses(point.progress.after?.expected ?? null),
    steps: point.steps.map((step) => ({
      ...step,
      by: step.madeBy === null ? null : names.people.get(step.madeBy),
      removable: ['conversation', 'letter', 'note'].includes(step.kind),
      point: point.id,
    })),
  };
}

export function developmentList(points: readonly FollowedPoint[], names: Names) {
  const views = points.map((point) => pointView(point, names));
  return { open: views.filter((view) => view.open), closed: views.filter((view) => !view.open) };
}

/** Opening, following and closing development points, by forms. */
export async function developmentPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };
  const params = z.object({ pointId: z.uuid() });

  pages.post(
    '/seasons/:seasonId/development-points',
    { config, schema: { hide: true, params: z.object({ seasonId: z.uuid() }), body: newPointSchema } },
    async (request, reply) => {
      const session = sessionOf(request);
      const season = await seasonOf(database, session.conferenceId, request.params.seasonId);
      const id = await openPointWithEvidence(pool, app.results, session, season.id, request.body);
      return reply.redirect(`/development-points/${id}`, 303);
    },
  );

  async function pointPage(
    { conferenceId, timeZone }: Session,
    pointId: string,
    errors: FormErrors = {},
    values: Form = {},
  ) {
    const today = dayIn(timeZone);
    const point = await followedPoint(database, app.results, conferenceId, pointId);
    const season = await seasonOf(database, conferenceId, point.seasonId);
    const names = await readNames(database, conferenceId, point.seasonId);
    const evidence = new URLSearchParams({
      position: point.position,
      dutyKey: point.dutyKey,
      situationCut: point.situationCut,
    });
    return {
      season,
      point: pointView(point, names),
      plays: `/seasons/${season.id}/officials/${point.personId}/pattern?${evidence}`,
      today,
      errors,
      values: {
        kind: textOf(values.kind) || 'conversation',
        happenedOn: textOf(values.happenedOn) || today,
        text: textOf(values.text),
        shared: textOf(values.shared) === 'yes',
      },
    };
  }

  const titleOf = (view: Awaited<ReturnType<typeof pointPage>>) => `Development point: ${view.point.title}`;

  pages.get(
    '/development-points/:pointId',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const view = await pointPage(sessionOf(request), request.params.pointId);
      return reply.page('development/point', view, { title: titleOf(view) });
    },
  );

  pages.post(
    '/development-points/:pointId/steps',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const session = sessionOf(request);
      const { pointId } = request.params;
      const form = formOf(request.body);
      const parsed = newStepSchema.safeParse({
        kind: textOf(form.kind),
        happenedOn: textOf(form.happenedOn),
        text: textOf(form.text),
        shared: textOf(form.shared) === 'yes',
      });
      if (!parsed.success) {
        const view = await pointPage(session, pointId, errorsOf(parsed.error), form);
        return reply.code(400).page('development/point', view, { title: titleOf(view) });
      }
      await noteStep(pool, session, pointId, parsed.data);
      return reply.redirect(`/development-points/${pointId}`, 303);
    },
  );

  pages.post(
    '/development-points/:pointId/steps/:stepId/remove',
    { config, schema: { hide: true, params: z.object({ pointId: z.uuid(), stepId: z.uuid() }) } },
    async (request, reply) => {
      const { pointId, stepId } = request.params;
      await removeStep(pool, sessionOf(request), pointId, stepId);
      return reply.redirect(`/development-points/${pointId}`, 303);
    },
  );

  for (const [path, to] of [
    ['close', 'closed'],
    ['reopen', 'reopened'],
  ] as const) {
    pages.post(
      `/development-points/:pointId/${path}`,
      { config, schema: { hide: true, params } },
      async (request, reply) => {
        const session = sessionOf(request);
        const { pointId } = request.params as z.infer<typeof params>;
        const form = formOf(request.body);
        const parsed = turnSchema.safeParse({
          happenedOn: textOf(form.happenedOn),
          text: textOf(form.text),
        });
        if (!parsed.success) {
          const errors = errorsOf(parsed.error);
          const view = await pointPage(session, pointId, { turn: Object.values(errors)[0]! });
          return reply.code(400).page('development/point', view, { title: titleOf(view) });
        }
        await turnPoint(pool, session, pointId, to, parsed.data);
        return reply.redirect(`/development-points/${pointId}`, 303);
      },
    );
  }
}
