import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { programAddress, tags } from '../programs/program-answer.ts';
import { csvChoice, sendCsv } from '../web/csv-file.ts';
import { outcomeCsv } from './outcome-csv.ts';
import { readProgramOutcome, verdicts } from './program-outcome.ts';
import type { QuestionFound } from './questions.ts';

const side = z.object({
  events: z.int().describe('misses'),
  opportunities: z.int(),
  rate: z.number(),
  interval: z.object({ low: z.number(), high: z.number() }).describe('95 %, Wilson'),
});
const group = z.object({ officials: z.int(), before: side, after: side });
const outcomeAnswer = z.object({
  programId: z.uuid(),
  until: z
    .string()
    .nullable()
    .describe('games up to this day count as before; null before the first release'),
  from: z.string().nullable().describe('games later than this day count as after'),
  afterSeasonId: z.uuid().nullable().describe('the season whose games count as after'),
  whose: z.string().nullable().describe('whose misses; null where the program is not for officials'),
  duties: z.array(
    z.object({
      key: z.string(),
      title: z.string(),
      before: side,
      after: side.extend({ games: z.int() }),
      unchangedRate: z
        .number()
        .nullable()
        .describe('miss rate to be expected afterwards had nothing changed; null when it cannot be told'),
      verdict: z.enum(verdicts),
      reason: z.string().nullable().describe('why it cannot be told'),
      pFewer: z.number(),
      pMore: z.number(),
      level: z.number().describe('what a p-value had to reach at this look; 0: nothing could be said yet'),
      looks: z.int(),
      changed: z.boolean().describe('the season after defines the duty otherwise'),
      byAttendance: z
        .object({ watched: group, others: group })
        .nullable()
        .describe(
          'those who did all that was asked, and the rest; null where too few to tell of no one person',
        ),
    }),
  ),
  questions: z
    .object({
      edition: z.int(),
      complete: z.int().describe('people with an answer to every question'),
      reliability: z
        .object({ value: z.number(), low: z.number(), high: z.number() })
        .nullable()
        .describe('Kuder and Richardson’s formula 20, with an interval of 95 %'),
      few: z.boolean().describe('too few questions for the reliability to say much'),
      questions: z.array(
        z.object({
          play: z.int(),
          question: z.string(),
          topic: z.string(),
          duty: z.string().nullable(),
          answered: z.int(),
          right: z.int(),
          share: z.number().nullable(),
          interval: z.object({ low: z.number(), high: z.number() }),
          itemRest: z.number().nullable().describe('corrected point-biserial correlation'),
          choices: z.array(z.object({ text: z.string(), right: z.boolean(), taken: z.int() })),
          halfWrong: z.boolean(),
        }),
      ),
    })
    .nullable(),
});

/** Whether a program helped, as JSON and CSV; for the coordinator, and of no one official. */
export async function outcomeRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };

  routes.get(
    '/api/training-programs/:programId/outcome',
    {
      config,
      schema: {
        tags,
        summary: 'Did a program help: the staff’s misses of each duty taught, before and after',
        description:
          'From released reports. Taught are the duties of its released plays. Games between the first edition and the day by which it was to be watched are on neither side. “fewer misses” is said of any duty of a program where nothing changed with a probability of 5 % at most.',
        params: programAddress,
        response: { 200: outcomeAnswer },
      },
    },
    async (request) => {
      const { program, teaching, whose, after, duties, questions } = await readProgramOutcome(
        pool,
        sessionOf(request),
        request.params.programId,
      );
      return {
        programId: program.id,
        until: teaching?.until ?? null,
        from: teaching?.from ?? null,
        afterSeasonId: after?.id ?? null,
        whose,
        duties: duties.map(({ key, title, changed, byAttendance, followUp }) => ({
          ...{ key, title, changed, byAttendance },
          ...followUp,
        })),
        questions: questions && { ...questions, questions: questions.questions.map(questionAnswer) },
      };
    },
  );

  routes.get(
    '/api/training-programs/:programId/outcome.csv',
    {
      config,
      schema: {
        tags,
        summary: 'The same as a table',
        params: programAddress,
        querystring: z.object(csvChoice),
      },
    },
    async (request, reply) => {
      const outcome = await readProgramOutcome(pool, sessionOf(request), request.params.programId);
      return sendCsv(reply, 'did-it-help', outcomeCsv(outcome), request.query);
    },
  );
}

const questionAnswer = ({ taken: _, choices, ...question }: QuestionFound) => ({
  ...question,
  choices: [...choices],
});
