import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Session } from '../../accounts/session.ts';
import { readWeight } from '../../knowledge/weight-store.ts';
import { seasonInView, seasonOf } from '../../schedule/seasons.ts';
import { errorsBesideLabels, type FormErrors, fieldErrors, formOf } from '../../web/form.ts';
import { quizSchema, quizState } from '../rules/quiz.ts';
import { listQuizzes } from '../stores/quiz-rows.ts';
import { createQuiz } from '../stores/quiz-store.ts';
import { emptyQuiz, quizForm, quizOfForm } from './quiz-form.ts';

export const stateTone = { draft: '', announced: 'warn', open: 'good', over: '' } as const;

/** A season's quizzes, and making one. */
export async function quizListPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };
  const params = z.object({ seasonId: z.uuid() });
  const title = 'Quizzes';

  pages.get('/quizzes', { config, schema: { hide: true } }, async (request, reply) => {
    const season = await seasonInView(database, request);
    return reply.redirect(season ? `/seasons/${season.id}/quizzes` : '/season');
  });

  async function listPage(
    session: Session,
    seasonId: string,
    sent?: { values: ReturnType<typeof quizOfForm>; errors: FormErrors },
  ) {
    const season = await seasonOf(database, session.conferenceId, seasonId);
    const now = app.quizClock.now();
    const quizzes = await listQuizzes(pool, session.conferenceId, season.id);
    return {
      season,
      timeZone: session.timeZone,
      closed: season.state === 'closed',
      weight: await readWeight(pool, session.conferenceId, season.id),
      quizzes: quizzes.map((quiz) => {
        const state = quizState(quiz, now);
        return { ...quiz, state, tone: stateTone[state], isDraft: state === 'draft' };
      }),
      form: await quizForm(
        pool,
        session,
        season.id,
        sent?.values ?? emptyQuiz(now, session.timeZone),
        sent?.errors,
      ),
      wrong: sent !== undefined,
    };
  }

  pages.get(
    '/seasons/:seasonId/quizzes',
    { config, schema: { hide: true, params } },
    async (request, reply) =>
      reply.page('quizzes/list', await listPage(sessionOf(request), request.params.seasonId), {
        title,
        width: 'wide',
      }),
  );

  pages.post(
    '/seasons/:seasonId/quizzes',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const session = sessionOf(request);
      const season = await seasonOf(database, session.conferenceId, request.params.seasonId);
      const values = quizOfForm(formOf(request.body), session.timeZone);
      const refuse = async (errors: FormErrors) =>
        reply.code(400).page('quizzes/list', await listPage(session, season.id, { values, errors }), {
          title,
          width: 'wide',
        });
      const parsed = quizSchema.safeParse(values);
      if (!parsed.success) return refuse(errorsBesideLabels(parsed.error));
      try {
        const id = await createQuiz(pool, session, season.id, parsed.data);
        return reply.redirect(`/quizzes/${id}`, 303);
      } catch (error) {
        return refuse(fieldErrors(error));
      }
    },
  );
}
