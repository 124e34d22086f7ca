import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { errorsBesideLabels, type Form, type FormErrors, formOf, listOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { instantOf, instantOver } from '../rules/local-time.ts';
import { quizSchema } from '../rules/quiz.ts';
import { allowanceSchema, giveMore, longerSchema, makeLonger } from '../stores/allowance-store.ts';
import { readQuiz } from '../stores/quiz-rows.ts';
import {
  addNewcomers,
  announceQuiz,
  changeQuiz,
  putPool,
  removeQuiz,
  withdrawQuiz,
} from '../stores/quiz-store.ts';
import { quizOfForm } from './quiz-form.ts';
import { quizView } from './quiz-view.ts';

const params = z.object({ quizId: z.uuid() });

/** What the fields of its small forms are called, to begin the sentence of what is wrong. */
const labels: Readonly<Record<string, string>> = {
  official: 'Official:',
  extraMinutes: 'Minutes more:',
  extraStarts: 'Starts more:',
  openUntil: 'Open for them until:',
  reason: 'Reason:',
  closesAt: 'Closes:',
  minutes: 'Minutes for a sitting:',
};

/** One quiz for the coordinator: as a draft to be made, then who takes it and what each has. */
export async function quizPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };
  const now = () => app.quizClock.now();

  const show = async (
    request: FastifyRequest,
    reply: FastifyReply,
    quizId: string,
    told: { refused?: string; values?: ReturnType<typeof quizOfForm>; errors?: FormErrors } = {},
  ) => {
    const view = await quizView(app, sessionOf(request), quizId, told);
    return reply.page(
      'quizzes/quiz',
      { ...view, refused: told.refused },
      { title: view.quiz.title, width: 'wide' },
    );
  };

  pages.get('/quizzes/:quizId', { config, schema: { hide: true, params } }, async (request, reply) =>
    show(request, reply, request.params.quizId),
  );

  /** A form of a quiz that does something; what is refused is said on its page as it is now. */
  const doing = (
    act: string,
    work: (request: FastifyRequest, quizId: string, form: Form) => Promise<string>,
  ) =>
    pages.post(
      `/quizzes/:quizId/${act}`,
      { config, schema: { hide: true, params } },
      async (request, reply) => {
        const { quizId } = request.params;
        try {
          return reply.redirect(await work(request, quizId, formOf(request.body)), 303);
        } catch (error) {
          if (!(error instanceof Problem) || ![400, 409].includes(error.status)) throw error;
          const said = error.errors
            .map(({ field, message }) => `${labels[field] ?? field} ${message}`)
            .join('; ');
          return show(request, reply.code(error.status), quizId, {
            refused: said === '' ? error.message : `Not done. ${said}.`,
          });
        }
      },
    );
  const at = (quizId: string, then = '') => `/quizzes/${quizId}${then}`;
  const parsed = <Output>(schema: z.ZodType<Output>, sent: unknown): Output => {
    const { data, error } = schema.safeParse(sent);
    if (error)
      throw new Problem(
        400,
        'Not valid',
        'Not done.',
        error.issues.map(({ path, message }) => ({ field: String(path[0]), message })),
      );
    return data as Output;
  };

  pages.post('/quizzes/:quizId', { config, schema: { hide: true, params } }, async (request, reply) => {
    const session = sessionOf(request);
    const { quizId } = request.params;
    const values = quizOfForm(formOf(request.body), session.timeZone);
    const frame = quizSchema.safeParse(values);
    if (!frame.success)
      return show(request, reply.code(400), quizId, { values, errors: errorsBesideLabels(frame.error) });
    try {
      await changeQuiz(pool, session, quizId, frame.data);
    } catch (error) {
      if (!(error instanceof Problem) || ![400, 409].includes(error.status)) throw error;
      return show(request, reply.code(error.status), quizId, { refused: error.message });
    }
    return reply.redirect(at(quizId), 303);
  });

  doing('questions', async (request, quizId, form) => {
    await putPool(pool, sessionOf(request), quizId, listOf(form.question));
    return at(quizId, '#questions');
  });
  doing('announce', async (request, quizId) => {
    await announceQuiz(pool, sessionOf(request), quizId, now());
    return at(quizId);
  });
  doing('withdraw', async (request, quizId) => {
    await withdrawQuiz(pool, sessionOf(request), quizId);
    return at(quizId);
  });
  doing('newcomers', async (request, quizId) => {
    await addNewcomers(pool, sessionOf(request), quizId);
    return at(quizId, '#takers');
  });
  doing('longer', async (request, quizId, form) => {
    const session = sessionOf(request);
    const { closesAt } = await readQuiz(pool, session.conferenceId, quizId);
    const sent = {
      closesAt: instantOver(closesAt, textOf(form.closesAt), session.timeZone),
      minutes: textOf(form.minutes),
    };
    await makeLonger(pool, session, quizId, parsed(longerSchema, sent), now());
    return at(quizId);
  });
  doing('more', async (request, quizId, form) => {
    const session = sessionOf(request);
    const sent = {
      extraMinutes: textOf(form.extraMinutes) || '0',
      extraStarts: textOf(form.extraStarts) || '0',
      openUntil: textOf(form.openUntil) === '' ? null : instantOf(textOf(form.openUntil), session.timeZone),
      reason: textOf(form.reason),
    };
    const official = parsed(z.object({ official: z.uuid('choose an official') }), {
      official: textOf(form.official),
    });
    await giveMore(pool, session, quizId, official.official, parsed(allowanceSchema, sent), now());
    return at(quizId, '#takers');
  });
  doing('delete', async (request, quizId) => {
    const { seasonId } = await readQuiz(pool, sessionOf(request).conferenceId, quizId);
    await removeQuiz(pool, sessionOf(request), quizId);
    return `/seasons/${seasonId}/quizzes`;
  });
}
