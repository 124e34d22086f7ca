import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { quizResult } from '../knowledge/quiz-results.ts';
import { readTaken } from '../knowledge/taken-store.ts';
import { seasonOf } from '../schedule/seasons.ts';
import { csvChoice, sendCsv, tableCsv } from '../web/csv-file.ts';
import { tags } from './bank-routes.ts';
import { mostInPool } from './rules/question.ts';
import { type Quiz, quizSchema, quizState } from './rules/quiz.ts';
import { listQuizzes, readQuiz, readTakers } from './stores/quiz-rows.ts';
import { announceQuiz, createQuiz } from './stores/quiz-store.ts';
import { endSittings } from './stores/sitting-store.ts';

const ofSeason = z.object({ seasonId: z.uuid() });
const ofQuiz = z.object({ quizId: z.uuid() });
const quizAnswer = z.object({
  id: z.uuid(),
  seasonId: z.uuid(),
  title: z.string(),
  state: z.enum(['draft', 'announced', 'open', 'over']),
  opensAt: z.string(),
  closesAt: z.string(),
  minutes: z.int(),
  starts: z.int(),
  hoursBetween: z.int(),
  counts: z.string(),
  draws: z.int().nullable(),
  pool: z.int().describe('questions that it asks or draws from'),
  audience: z.string(),
  positions: z.array(z.string()),
  crewId: z.string().nullable(),
  announcedAt: z.string().nullable(),
  begun: z.boolean(),
});

/** Quizzes as JSON, and their results as a file; for the coordinator. */
export async function quizRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };
  const shown = (quiz: Quiz): z.input<typeof quizAnswer> => ({
    ...quiz,
    positions: [...quiz.positions],
    state: quizState(quiz, app.quizClock.now()),
    opensAt: quiz.opensAt.toISOString(),
    closesAt: quiz.closesAt.toISOString(),
    announcedAt: quiz.announcedAt?.toISOString() ?? null,
  });

  routes.get(
    '/api/seasons/:seasonId/quizzes',
    {
      config,
      schema: {
        tags,
        summary: 'A season’s quizzes',
        params: ofSeason,
        response: { 200: z.array(quizAnswer) },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      return (await listQuizzes(pool, conferenceId, season.id)).map(shown);
    },
  );

  routes.post(
    '/api/seasons/:seasonId/quizzes',
    {
      config,
      schema: {
        tags,
        summary: 'Make a quiz, of which nobody is told yet',
        params: ofSeason,
        body: quizSchema.safeExtend({ questions: z.array(z.uuid()).max(mostInPool).default([]) }),
        response: { 201: quizAnswer },
      },
    },
    async (request, reply) => {
      const session = sessionOf(request);
      const season = await seasonOf(database, session.conferenceId, request.params.seasonId);
      const { questions, ...frame } = request.body;
      const id = await createQuiz(pool, session, season.id, frame, questions);
      return reply.code(201).send(shown(await readQuiz(pool, session.conferenceId, id)));
    },
  );

  routes.post(
    '/api/quizzes/:quizId/announce',
    {
      config,
      schema: {
        tags,
        summary: 'Announce a quiz',
        description: 'Officials are told what it asks for and what counts, which from now on stays.',
        params: ofQuiz,
        response: { 200: quizAnswer },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      await announceQuiz(pool, session, request.params.quizId, app.quizClock.now());
      return shown(await readQuiz(pool, session.conferenceId, request.params.quizId));
    },
  );

  routes.get(
    '/api/quizzes/:quizId/results.csv',
    {
      config,
      schema: {
        tags,
        summary: 'What each official had right, with their measure, as a table',
        description:
          'Of the sitting that counts; the measure of who sat again where the best counts is of the first answer to each question over all sittings, whose counts are the last columns.',
        params: ofQuiz,
        querystring: z.object(csvChoice),
      },
    },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const quiz = await readQuiz(pool, conferenceId, request.params.quizId);
      await endSittings(pool, app.quizClock.now(), { conferenceId, quizId: quiz.id });
      const taken = (await readTaken(pool, conferenceId, [quiz.id])).get(quiz.id) ?? [];
      const people = new Map(quizResult(taken, quiz.counts).people.map((one) => [one.officialId, one]));
      const rows = (await readTakers(pool, conferenceId, quiz.id)).map(({ officialId, name }) => {
        const one = people.get(officialId);
        const measure = one?.measure;
        return [
          ...[name, one?.sittings ?? 0, one?.right ?? '', one?.asked ?? ''],
          // Numbers: a text that begins with a minus is taken for a formula, and disarmed.
          ...(measure ? [Number(measure.value.toFixed(3)), Number(measure.se.toFixed(3))] : ['', '']),
          ...(measure ? [one!.told.right, one!.told.asked] : ['', '']),
        ];
      });
      const columns = [
        'official',
        'sittings',
        'right',
        'asked',
        'measure',
        'standard_error',
        'measured_right',
        'measured_asked',
      ];
      return sendCsv(reply, 'quiz-results', tableCsv(columns, rows), request.query);
    },
  );
}
