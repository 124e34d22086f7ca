import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { ownClinics } from '../../knowledge/clinic-rows.ts';
import { type Form, formOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { tooLateInWords } from '../rules/sitting-words.ts';
import { beginSitting, handIn, keepAnswers } from '../stores/sitting-store.ts';
import { myQuizView, ownQuizzes } from './my-quiz-view.ts';

const params = z.object({ quizId: z.uuid() });

/** An official's own quizzes: what each asks for, the sitting, and what came of it. Nobody else's is in them. */
export async function myQuizPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.official };
  const now = () => app.quizClock.now();

  pages.get('/my/quizzes', { config, schema: { hide: true } }, async (request, reply) => {
    const session = sessionOf(request);
    const quizzes = await ownQuizzes(app, session);
    const clinics = await ownClinics(pool, session.conferenceId, session.personId);
    return reply.page(
      'quizzes/mine',
      { quizzes, clinics, timeZone: session.timeZone },
      { title: 'My quizzes and clinics' },
    );
  });

  const show = async (
    request: FastifyRequest,
    reply: FastifyReply,
    quizId: string,
    told: { refused?: string; late?: string } = {},
  ) => {
    const view = await myQuizView(app, sessionOf(request), quizId);
    return reply.page(
      view.sitting ? 'quizzes/sitting' : 'quizzes/my-quiz',
      { ...view, ...told, personId: sessionOf(request).personId },
      { title: view.quiz.title, ...(view.sitting ? { scripts: ['quiz-sitting'] } : {}) },
    );
  };

  pages.get('/my/quizzes/:quizId', { config, schema: { hide: true, params } }, async (request, reply) =>
    show(request, reply, request.params.quizId),
  );

  pages.post(
    '/my/quizzes/:quizId/begin',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const { quizId } = request.params;
      try {
        await beginSitting(pool, sessionOf(request), quizId, now());
      } catch (error) {
        if (!(error instanceof Problem) || error.status !== 409) throw error;
        return show(request, reply.code(409), quizId, { refused: error.message });
      }
      return reply.redirect(`/my/quizzes/${quizId}`, 303);
    },
  );

  // What a browser without its script sends at once: all answers, and whether to hand in.
  pages.post(
    '/my/quizzes/:quizId/answers',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const { quizId } = request.params;
      const session = sessionOf(request);
      const form = formOf(request.body);
      const choices = choicesOfForm(form);
      try {
        const kept = await keepAnswers(pool, session, quizId, choices, now());
        if (!kept.kept && kept.late > 0)
          return show(request, reply.code(409), quizId, {
            late: tooLateInWords(session.timeZone, kept.endedAt),
          });
        if (kept.kept && textOf(form.act) === 'hand in') await handIn(pool, session, quizId, now());
      } catch (error) {
        if (!(error instanceof Problem) || ![400, 409].includes(error.status)) throw error;
        return show(request, reply.code(error.status), quizId, { refused: error.message });
      }
      return reply.redirect(`/my/quizzes/${quizId}`, 303);
    },
  );
}

function choicesOfForm(form: Form): Map<number, number> {
  const choices = new Map<number, number>();
  for (const [name, value] of Object.entries(form)) {
    const place = /^q(\d{1,4})$/.exec(name)?.[1];
    const choice = /^[0-5]$/.exec(textOf(value))?.[0];
    if (place !== undefined && choice !== undefined) choices.set(Number(place), Number(choice));
  }
  return choices;
}
