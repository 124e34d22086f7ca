import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { listOwnShown } from '../../programs/stores/shown-store.ts';
import { secondsOf } from '../../timeline/frames.ts';
import { notFound } from '../../web/problem.ts';
import { dayIn } from '../../web/today.ts';
import { numberOf } from '../../web/whole-number.ts';
import { nextPlay, ownPlay } from '../own-play.ts';
import { ruleInWords } from '../standing.ts';
import { namesShownTo } from '../stores/names-store.ts';
import { confirmNotice, readTrainingSetting } from '../stores/notice-store.ts';
import { isReelComing } from '../stores/reel-store.ts';
import { isThrough, listToWatch, readWatching } from '../stores/viewer-store.ts';

const program = z.object({ programId: z.uuid() });
export const ownEdition = program.extend({ number: numberOf('number') });

/** What somebody is to watch: the list, and an edition with its player or its plays. */
export async function myTrainingPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.toWatch };

  pages.get(
    '/my/training',
    { config: { policy: policies.staff }, schema: { hide: true } },
    async (request, reply) => {
      const session = sessionOf(request);
      const today = dayIn(session.timeZone);
      const all = (await listToWatch(pool, session)).map((one) => ({
        ...one,
        isDone: isThrough(one),
        isLate: one.dueOn !== null && one.dueOn < today,
        isBegun: one.openedAt !== null,
      }));
      const shown = session.roles.has('official') ? await listOwnShown(pool, session) : [];
      return reply.page(
        'watching/my-training',
        {
          shown: shown.length,
          mayObject: shown.filter(
            ({ objectedAt, objectUntil }) => objectedAt === null && objectUntil > new Date(),
          ).length,
          open: all.filter(({ isDone }) => !isDone),
          done: all.filter(({ isDone }) => isDone),
        },
        { title: 'My training' },
      );
    },
  );

  pages.get(
    '/my/training/:programId',
    { config, schema: { hide: true, params: program } },
    async (request, reply) => {
      const { programId } = request.params;
      const one = (await listToWatch(pool, sessionOf(request))).find((each) => each.programId === programId);
      if (!one) throw notFound('training program');
      return reply.redirect(`/my/training/${programId}/editions/${one.number}`, 303);
    },
  );

  pages.get(
    '/my/training/:programId/editions/:number',
    { config, schema: { hide: true, params: ownEdition } },
    async (request, reply) => {
      const session = sessionOf(request);
      const { programId, number } = request.params;
      const watching = await readWatching(pool, session, programId, number);
      const names = await namesShownTo(pool, session.conferenceId, watching);
      const { content, answers, reel, rule } = watching;
      const plays = content.plays.map((play) => ({
        ...ownPlay(play, answers, names),
        isThrough: watching.through.includes(play.number),
      }));
      const at = `/my/training/${programId}/editions/${number}`;
      return reply.page(
        'watching/edition',
        {
          ...watching,
          at,
          api: `/api${at}`,
          plays,
          personId: session.personId,
          answeredPlays: plays.filter(({ answered }) => answered),
          rule: ruleInWords(rule, reel !== null),
          isDone: isThrough(watching),
          notice: (await readTrainingSetting(pool, session.conferenceId)).notice,
          next: nextPlay(watching),
          older: watching.newest > number,
          isReelComing: reel === null && (await isReelComing(pool, session.conferenceId, programId, number)),
          reel: reel && {
            ...reel,
            stops: JSON.stringify(
              reel.facts.questions
                .map(({ number: play, frame }) => ({ play, seconds: secondsOf(frame) }))
                .filter(({ play }) =>
                  content.plays.some((one) => one.number === play && one.choices.length > 0),
                ),
            ),
            chapters: reel.facts.chapters.map(({ title, frame }) => ({ title, seconds: secondsOf(frame) })),
          },
          questions: plays.filter(({ choices }) => choices.length > 0),
        },
        {
          title: content.title,
          ...(reel && watching.hasConfirmed ? { scripts: ['training-watch'] } : {}),
        },
      );
    },
  );

  pages.post(
    '/my/training/:programId/editions/:number/notice',
    { config, schema: { hide: true, params: ownEdition } },
    async (request, reply) => {
      const { programId, number } = request.params;
      await readWatching(pool, sessionOf(request), programId, number);
      await confirmNotice(pool, sessionOf(request), programId);
      return reply.redirect(`/my/training/${programId}/editions/${number}`, 303);
    },
  );
}
