import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { publicAddress } from '../../mail/mailer.ts';
import { replyWindow } from '../../reports/review/reply-window.ts';
import { refuseUnknownSeasons, seasonInView, seasonOf } from '../../schedule/seasons.ts';
import { typedDay, typedText } from '../../text/typed-text.ts';
import { Problem } from '../../web/problem.ts';
import { dayIn } from '../../web/today.ts';
import { answerPage, lastDayToAnswer } from '../answering.ts';
import { kindTitles } from '../kind-titles.ts';
import { batchProgress, createBatch, latestBatch, retryFailed } from '../letter-batches.ts';
import { type LetterKind, letterKinds } from '../letter-data.ts';
import { type LetterLine, letterLines } from '../letter-lines.ts';
import { sendAgain } from '../letter-messages.ts';
import { templateContracts } from '../plots.ts';
import { releaseLetters } from '../release-letters.ts';
import { notTold } from '../template-check.ts';
import { readTemplate } from '../template-store.ts';

const seasonAddress = z.object({ seasonId: z.uuid() });
const kind = z.enum(letterKinds);
const kindQuery = z.object({
  kind: kind.default('end-of-season'),
  done: typedText({ most: 200 }).optional(),
});

/** A season's letters: made, released, sent. */
export async function letterPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const coordinator = { policy: policies.coordinator };
  refuseUnknownSeasons(app);

  pages.get('/letters', { config: coordinator, schema: { hide: true } }, async (request, reply) => {
    const season = await seasonInView(database, request);
    return reply.redirect(season ? `/seasons/${season.id}/letters` : '/season');
  });

  pages.get(
    '/seasons/:seasonId/letters',
    { config: coordinator, schema: { hide: true, params: seasonAddress, querystring: kindQuery } },
    async (request, reply) => {
      const { kind, done } = request.query;
      return lettersPage(request, reply, request.params.seasonId, kind, { done });
    },
  );

  async function lettersPage(
    request: FastifyRequest,
    reply: FastifyReply,
    seasonId: string,
    kind: LetterKind,
    view: object,
  ) {
    const { conferenceId, timeZone } = sessionOf(request);
    const season = await seasonOf(database, conferenceId, seasonId);
    const { replyDays } = await replyWindow(database, conferenceId);
    const today = dayIn(timeZone);
    const lines = (await letterLines(pool, conferenceId, season.id, kind)).map(lineView);
    const batchId = await latestBatch(pool, conferenceId, season.id, kind);
    const batch = batchId ? await batchProgress(pool, conferenceId, batchId) : null;
    const drafts = lines.filter((line) => line.state === 'draft');
    return reply.page(
      'letters/season',
      {
        season,
        kind,
        replyDays,
        today,
        defaultDay: lastDayToAnswer(today, replyDays),
        notTold: notTold((await readTemplate(database, conferenceId, kind)).body, templateContracts[kind]),
        publicUrl: app.settings.PUBLIC_URL,
        answerPage: answerPage(publicAddress(app.settings)),
        ...view,
        lines,
        tabs: letterKinds.map((name) => ({ name, title: kindTitles[name], here: name === kind })),
        batch: batch && {
          ...batch,
          madeOrUnchanged: batch.made + batch.unchanged,
          failures: batch.jobs.filter((job) => job.state === 'failed'),
          hasLetters: batch.jobs.some((job) => job.letterId !== null),
        },
        drafts: drafts.filter((line) => !line.letter?.outOfDate).length,
        outOfDate: drafts.filter((line) => line.letter?.outOfDate).length,
        undelivered: lines.filter(
          ({ delivery }) => delivery?.state === 'waiting' || delivery?.state === 'failed',
        ).length,
        mail: app.settings.SMTP_URL !== undefined,
      },
      { title: `Letters, ${season.name}`, width: 'wide', scripts: ['letter-progress'] },
    );
  }

  const backTo = (seasonId: string, chosen: string, done: string) =>
    `/seasons/${seasonId}/letters?kind=${chosen}&done=${encodeURIComponent(done)}`;

  pages.post(
    '/seasons/:seasonId/letters/make',
    {
      config: coordinator,
      schema: {
        hide: true,
        params: seasonAddress,
        body: z.object({
          kind,
          paper: z.enum(['Letter', 'A4']),
          replyBy: z.union([z.literal('').transform(() => null), typedDay()]).default(null),
          personId: z.uuid().optional(),
        }),
      },
    },
    async (request, reply) => {
      const { personId, ...batch } = request.body;
      const { seasonId } = request.params;
      try {
        await createBatch(pool, sessionOf(request), {
          ...batch,
          seasonId,
          personIds: personId ? [personId] : null,
        });
      } catch (error) {
        const wrong = error instanceof Problem && error.errors.find(({ field }) => field === 'replyBy');
        if (!wrong) throw error;
        return lettersPage(request, reply.code(400), seasonId, batch.kind, {
          values: batch,
          wrong: wrong.message,
        });
      }
      app.letterWork.wake();
      return reply.redirect(`/seasons/${request.params.seasonId}/letters?kind=${batch.kind}#progress`, 303);
    },
  );

  pages.post(
    '/seasons/:seasonId/letters/release',
    {
      config: coordinator,
      schema: {
        hide: true,
        params: seasonAddress,
        body: z.object({
          kind,
          letterId: z.uuid().optional(),
          mail: z.enum(['no', 'link', 'attached']).default('no'),
        }),
      },
    },
    async (request, reply) => {
      const { kind: chosen, letterId, mail } = request.body;
      const { released, outOfDate, otherDay } = await releaseLetters(pool, sessionOf(request), {
        seasonId: request.params.seasonId,
        kind: chosen,
        letterIds: letterId ? [letterId] : null,
        mail: app.settings.SMTP_URL === undefined ? 'no' : mail,
      });
      app.outbox.wake();
      const left =
        (outOfDate > 0 ? ` ${outOfDate} out of date: make them again first.` : '') +
        (otherDay > 0
          ? ` ${otherDay} not, for the last day to answer that they name has passed or is no longer the one that holds: make them again first.`
          : '');
      return reply.redirect(
        backTo(
          request.params.seasonId,
          chosen,
          `${released} ${released === 1 ? 'letter' : 'letters'} released.${left}`,
        ),
        303,
      );
    },
  );

  pages.post(
    '/seasons/:seasonId/letters/send-again',
    { config: coordinator, schema: { hide: true, params: seasonAddress, body: z.object({ kind }) } },
    async (request, reply) => {
      const { seasonId } = request.params;
      const waiting = await sendAgain(pool, sessionOf(request).conferenceId, seasonId, request.body.kind);
      app.outbox.wake();
      return reply.redirect(backTo(seasonId, request.body.kind, `${waiting} on their way again.`), 303);
    },
  );

  pages.post(
    '/seasons/:seasonId/letters/retry',
    {
      config: coordinator,
      schema: { hide: true, params: seasonAddress, body: z.object({ kind, batchId: z.uuid() }) },
    },
    async (request, reply) => {
      await retryFailed(pool, sessionOf(request).conferenceId, request.body.batchId);
      app.letterWork.wake();
      return reply.redirect(
        `/seasons/${request.params.seasonId}/letters?kind=${request.body.kind}#progress`,
        303,
      );
    },
  );
}

function lineView(line: LetterLine) {
  const { letter } = line;
  const state = !letter ? 'none' : letter.releasedAt ? 'released' : 'draft';
  const delivery = letter?.delivery ?? null;
  const tones: Record<string, string> = { sent: 'good', failed: 'bad', waiting: 'warn' };
  return {
    ...line,
    state,
    isDraft: state === 'draft',
    isReleased: state === 'released',
    delivery: delivery && { ...delivery, tone: tones[delivery.state] ?? '' },
  };
}
