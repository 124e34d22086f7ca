import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { positions } from '../football/positions.ts';
import { editionAddress } from '../programs/edition-routes.ts';
import { tags } from '../programs/program-answer.ts';
import { showings } from '../training/lesson.ts';
import { wholeNumber } from '../web/whole-number.ts';
import { ownPlay } from './own-play.ts';
import { ruleInWords } from './standing.ts';
import { namesShownTo } from './stores/names-store.ts';
import { confirmNotice, readTrainingSetting } from './stores/notice-store.ts';
import { keepAnswer, keepWatched } from './stores/progress-store.ts';
import { isThrough, listToWatch, readWatching, type Watching } from './stores/viewer-store.ts';

const playSchema = z.object({
  number: z.int(),
  topic: z.string(),
  position: z.enum(positions),
  situation: z.string(),
  result: z.string(),
  official: z.string().nullable().describe('who is shown, where this audience is told; else null'),
  question: z.string(),
  choices: z.array(
    z.object({ text: z.string(), isAcceptable: z.boolean().nullable(), isYours: z.boolean() }),
  ),
  isOpen: z.boolean().describe('it asks something that you have not answered'),
  answered: z
    .object({ choice: z.int(), isRight: z.boolean(), how: z.enum(['online', 'paper', 'carried']) })
    .nullable(),
  told: z
    .object({
      showing: z.enum(showings),
      duty: z.string().nullable(),
      guidance: z.string(),
      answer: z.string(),
      answeredOn: z.string().nullable(),
      ruleCited: z.string(),
      mechanicCited: z.string(),
      twoMechanics: z.boolean(),
      keys: z.array(z.string()),
      narration: z.string(),
    })
    .nullable()
    .describe('the answer of record; null until you answered'),
});

const standingSchema = z.object({
  share: z.number().describe('of the reel’s length that was played, or of the plays gone through, 0 to 1'),
  questions: z.int(),
  answered: z.int(),
  isDone: z.boolean(),
  place: z.number().describe('where you were last, in seconds of the reel'),
  stretches: z.array(z.tuple([z.number(), z.number()])).describe('seconds of the reel that were played'),
  through: z.array(z.int()).describe('numbers of the plays gone through'),
});

/** How far somebody is. */
const standingAnswer = ({ standing, place, stretches, through, ...watching }: Watching) => ({
  ...standing,
  isDone: standing.isDone || isThrough(watching),
  place,
  stretches: stretches.map(([from, to]): [number, number] => [from, to]),
  through: [...through],
});

const toWatchSchema = z.object({
  programId: z.uuid(),
  number: z.int(),
  title: z.string(),
  goal: z.string(),
  note: z.string(),
  dueOn: z.string().nullable(),
  releasedAt: z.string(),
  isDone: z.boolean(),
});

const time = z.number().min(0).max(86_400);
const answerBody = z.object({
  play: wholeNumber('play', 1, 1000).describe('its number in the edition'),
  choice: wholeNumber('choice', 0, 20).describe('which of the choices, counted from 0'),
});
const watchedBody = z.object({
  stretches: z
    .array(z.tuple([time, time]))
    .max(500)
    .default([])
    .describe('seconds of the reel that were played; the same may be sent again'),
  place: time.optional().describe('where the player is now'),
  plays: z
    .array(wholeNumber('plays', 1, 1000))
    .max(500)
    .default([])
    .describe('plays gone through, without a reel'),
});

/** What somebody is to watch, as JSON: their own only. */
export async function ownTrainingRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.toWatch };
  const at = '/api/my/training/:programId/editions/:number';

  routes.get(
    '/api/my/training',
    {
      config: { policy: policies.staff },
      schema: {
        tags,
        summary: 'What you are to watch, what is due first in front',
        response: { 200: z.array(toWatchSchema) },
      },
    },
    async (request) =>
      (await listToWatch(pool, sessionOf(request))).map((one) => ({
        ...one,
        releasedAt: one.releasedAt.toISOString(),
        isDone: isThrough(one),
      })),
  );

  routes.get(
    at,
    {
      config,
      schema: {
        tags,
        summary: 'An edition that you are to watch, with your answers',
        description:
          'Of a question that you have not answered, neither the right choice nor the answer of record.',
        params: editionAddress,
        response: {
          200: z.object({
            ...{
              programId: z.uuid(),
              number: z.int(),
              title: z.string(),
              goal: z.string(),
              note: z.string(),
            },
            dueOn: z.string().nullable(),
            rule: z.string().describe('what counts as watched'),
            notice: z.string().describe('what is said of film and audience'),
            hasConfirmed: z.boolean(),
            reelSeconds: z.number().nullable(),
            standing: standingSchema,
            plays: z.array(playSchema).describe('none before the notice is confirmed'),
          }),
        },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      const { programId, number } = request.params;
      const watching = await readWatching(pool, session, programId, number);
      const names = await namesShownTo(pool, session.conferenceId, watching);
      const { content, note, dueOn, rule, reel, hasConfirmed } = watching;
      return {
        ...{ programId, number, note, dueOn, hasConfirmed, title: content.title, goal: content.goal },
        rule: ruleInWords(rule, reel !== null),
        notice: (await readTrainingSetting(pool, session.conferenceId)).notice,
        reelSeconds: reel?.facts.seconds ?? null,
        standing: standingAnswer(watching),
        plays: hasConfirmed ? content.plays.map((play) => ownPlay(play, watching.answers, names)) : [],
      };
    },
  );

  routes.post(
    `${at}/notice`,
    {
      config,
      schema: {
        tags,
        summary: 'Confirm what is said about film and audience',
        description: 'Once for each program, before its first play.',
        params: editionAddress,
        response: { 204: z.null() },
      },
    },
    async (request, reply) => {
      const { programId, number } = request.params;
      await readWatching(pool, sessionOf(request), programId, number);
      await confirmNotice(pool, sessionOf(request), programId);
      return reply.code(204).send(null);
    },
  );

  routes.post(
    `${at}/answers`,
    {
      config,
      schema: {
        tags,
        summary: 'Answer a question',
        description: 'The first answer counts: sent again, or otherwise, the first one comes back.',
        params: editionAddress,
        body: answerBody,
        response: { 200: z.object({ play: playSchema, standing: standingSchema }) },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      const { programId, number } = request.params;
      const { watching } = await keepAnswer(pool, session, programId, number, request.body);
      const play = watching.content.plays.find((one) => one.number === request.body.play)!;
      const names = await namesShownTo(pool, session.conferenceId, watching);
      return { play: ownPlay(play, watching.answers, names), standing: standingAnswer(watching) };
    },
  );

  routes.post(
    `${at}/watched`,
    {
      config,
      schema: {
        tags,
        summary: 'Say what you watched',
        description:
          'Begin by sending nothing, when the film is opened: no more seconds count than have passed since. What is sent again is not counted twice.',
        params: editionAddress,
        body: watchedBody,
        response: { 200: standingSchema },
      },
    },
    async (request) => {
      const { programId, number } = request.params;
      return standingAnswer(await keepWatched(pool, sessionOf(request), programId, number, request.body));
    },
  );
}
