import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { errorsOf, type FormErrors, fieldErrors, formOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { letterOf, questionSchema } from '../rules/question.ts';
import {
  changeQuestion,
  codeOf,
  createQuestion,
  listQuestions,
  readQuestion,
  removeQuestion,
  retireQuestion,
} from '../stores/bank-store.ts';
import { emptyQuestion, questionForm, questionOfForm } from './question-form.ts';

const params = z.object({ questionId: z.uuid() });

/** The conference's own questions: looked through, written, changed, retired. */
export async function bankPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };

  async function bankPage(
    request: FastifyRequest,
    reply: FastifyReply,
    {
      sent,
      errors,
      find = '',
    }: { sent?: ReturnType<typeof questionOfForm>; errors?: FormErrors; find?: string } = {},
  ) {
    const { conferenceId } = sessionOf(request);
    const all = await listQuestions(pool, conferenceId);
    const wanted = find.toLowerCase();
    const found = all.filter((one) =>
      [one.label, one.text, one.rule, one.mechanic, ...one.positions].some((text) =>
        text.toLowerCase().includes(wanted),
      ),
    );
    const values = sent ?? emptyQuestion(await codeOf(app.database, conferenceId));
    return reply.page(
      'quizzes/bank',
      {
        total: all.length,
        find,
        questions: found.map((one) => ({
          ...one,
          retired: one.retiredAt !== null,
          forPositions: one.positions.join(', '),
          cites: [one.rule, one.mechanic].filter((text) => text !== '').join(' · '),
          right: one.asked > 0 ? one.right / one.asked : null,
        })),
        form: questionForm(values, errors),
        wrong: errors !== undefined,
      },
      { title: 'Questions', width: 'wide' },
    );
  }

  pages.get(
    '/quiz-questions',
    {
      config,
      schema: { hide: true, querystring: z.object({ find: z.string().max(200).optional() }) },
    },
    async (request, reply) => bankPage(request, reply, { find: request.query.find?.trim() ?? '' }),
  );

  pages.post('/quiz-questions', { config, schema: { hide: true } }, async (request, reply) => {
    const sent = questionOfForm(formOf(request.body));
    const refuse = (errors: FormErrors) => bankPage(request, reply.code(400), { sent, errors });
    const parsed = questionSchema.safeParse(sent);
    if (!parsed.success) return refuse(errorsOf(parsed.error));
    try {
      await createQuestion(pool, sessionOf(request), parsed.data);
    } catch (error) {
      return refuse(fieldErrors(error));
    }
    return reply.redirect('/quiz-questions', 303);
  });

  async function questionPage(
    request: FastifyRequest,
    reply: FastifyReply,
    questionId: string,
    told: { sent?: ReturnType<typeof questionOfForm>; errors?: FormErrors; refused?: string } = {},
  ) {
    const question = await readQuestion(pool, sessionOf(request).conferenceId, questionId);
    return reply.page(
      'quizzes/question',
      {
        question,
        retired: question.retiredAt !== null,
        answerLetter: letterOf(question.answer),
        form: questionForm(told.sent ?? question, told.errors),
        refused: told.refused,
      },
      { title: `Question ${question.label}` },
    );
  }

  pages.get(
    '/quiz-questions/:questionId',
    { config, schema: { hide: true, params } },
    async (request, reply) => questionPage(request, reply, request.params.questionId),
  );

  pages.post(
    '/quiz-questions/:questionId',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const { questionId } = request.params;
      const sent = questionOfForm(formOf(request.body));
      const refuse = (errors: FormErrors) =>
        questionPage(request, reply.code(400), questionId, { sent, errors });
      const parsed = questionSchema.safeParse(sent);
      if (!parsed.success) return refuse(errorsOf(parsed.error));
      try {
        await changeQuestion(pool, sessionOf(request), questionId, parsed.data);
      } catch (error) {
        return refuse(fieldErrors(error));
      }
      return reply.redirect('/quiz-questions', 303);
    },
  );

  pages.post(
    '/quiz-questions/:questionId/retire',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const retired = textOf(formOf(request.body).retired) !== 'no';
      await retireQuestion(pool, sessionOf(request), request.params.questionId, retired);
      return reply.redirect(`/quiz-questions/${request.params.questionId}`, 303);
    },
  );

  pages.post(
    '/quiz-questions/:questionId/delete',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const { questionId } = request.params;
      try {
        await removeQuestion(pool, sessionOf(request), questionId);
      } catch (error) {
        if (!(error instanceof Problem) || error.status !== 409) throw error;
        return questionPage(request, reply.code(409), questionId, { refused: error.message });
      }
      return reply.redirect('/quiz-questions', 303);
    },
  );
}
