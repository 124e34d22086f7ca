import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { csvChoice, sendCsv } from '../web/csv-file.ts';
import { emptyBank, writeBank } from './bank-file.ts';
import { questionSchema } from './rules/question.ts';
import { changeQuestion, createQuestion, listQuestions, readQuestion } from './stores/bank-store.ts';

export const tags = ['quizzes and clinics'];
const answer = z.object({
  id: z.uuid(),
  label: z.string(),
  version: z.int(),
  text: z.string(),
  choices: z.array(z.string()),
  answer: z.int().describe('the right choice, from 0'),
  explanation: z.string(),
  code: z.string(),
  rule: z.string(),
  mechanic: z.string(),
  positions: z.array(z.string()).describe('none: for all'),
  retiredAt: z.string().nullable(),
  asked: z.int().describe('in sittings that have ended, of any version'),
  right: z.int(),
});

/** The bank of questions as JSON and CSV; for the coordinator. */
export async function bankRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };
  const shown = async (conferenceId: string, questionId: string) => {
    const one = await readQuestion(pool, conferenceId, questionId);
    return { ...one, retiredAt: one.retiredAt?.toISOString() ?? null };
  };

  routes.get(
    '/api/quiz-questions',
    {
      config,
      schema: { tags, summary: 'The conference’s own questions', response: { 200: z.array(answer) } },
    },
    async (request) =>
      (await listQuestions(pool, sessionOf(request).conferenceId)).map((one) => ({
        ...one,
        retiredAt: one.retiredAt?.toISOString() ?? null,
      })),
  );

  routes.post(
    '/api/quiz-questions',
    {
      config,
      schema: { tags, summary: 'Write a question', body: questionSchema, response: { 201: answer } },
    },
    async (request, reply) => {
      const id = await createQuestion(pool, sessionOf(request), request.body);
      return reply.code(201).send(await shown(sessionOf(request).conferenceId, id));
    },
  );

  routes.put(
    '/api/quiz-questions/:questionId',
    {
      config,
      schema: {
        tags,
        summary: 'Change a question',
        description: 'One that somebody was asked becomes a new version; who was asked the old one keeps it.',
        params: z.object({ questionId: z.uuid() }),
        body: questionSchema,
        response: { 200: answer },
      },
    },
    async (request) => {
      await changeQuestion(pool, sessionOf(request), request.params.questionId, request.body);
      return shown(sessionOf(request).conferenceId, request.params.questionId);
    },
  );

  routes.get(
    '/api/quiz-questions.csv',
    {
      config,
      schema: {
        tags,
        summary: 'The bank as a file that can be imported again',
        querystring: z.object(csvChoice),
      },
    },
    async (request, reply) => {
      const questions = await listQuestions(pool, sessionOf(request).conferenceId);
      return sendCsv(reply, 'questions', writeBank(questions), request.query);
    },
  );

  routes.get(
    '/api/quiz-questions/empty.csv',
    {
      config,
      schema: {
        tags,
        summary: 'A file of questions with its headings alone',
        querystring: z.object(csvChoice),
      },
    },
    async (request, reply) => sendCsv(reply, 'questions', emptyBank(), request.query),
  );
}
