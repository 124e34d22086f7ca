import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { playInWords } from '../../football/play-in-words.ts';
import { readPlayFacts } from '../../programs/stores/play-facts.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { formOf, textOf } from '../../web/form.ts';
import { notFound, Problem } from '../../web/problem.ts';
import { type ClipFinding, clipFindings, findingLabels } from '../calibration.ts';
import { clipAddress, readClipFilm } from '../clip-film.ts';
import { inSeverity } from '../in-severity.ts';
import { readPanel } from '../results.ts';
import { handIn, putClipMarks, readOwnMarks } from '../stores/mark-store.ts';
import { readSet } from '../stores/set-rows.ts';

const params = z.object({ setId: z.uuid() });
const ofClip = params.extend({ number: z.coerce.number().int().min(1).max(10_000) });

/** An observer marks clips, one after the other; once the set is closed they see the panel beside their own. */
export async function clipPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.marksCalibration };

  async function overview(request: FastifyRequest, reply: FastifyReply, setId: string, refused?: string) {
    const { conferenceId, personId, timeZone } = sessionOf(request);
    const set = await readSet(pool, conferenceId, setId);
    const own = await readOwnMarks(pool, conferenceId, setId, personId);
    const doneAt = set.observers.find(({ observerId }) => observerId === personId)?.doneAt ?? null;
    const panel = await readPanel(pool, conferenceId, set);
    const season = await seasonOf(database, conferenceId, set.seasonId);
    const first = set.clips.find(({ number }) => !own.has(number));
    return reply.page(
      'calibration/mark',
      {
        set,
        takenIn: inSeverity(season, set) === 'taken in',
        refused,
        timeZone,
        doneAt,
        open: set.state === 'open',
        next: set.state === 'open' && doneAt === null ? first : undefined,
        ready: set.state === 'open' && doneAt === null && !first,
        clips: set.clips.map((clip) => ({
          ...clip,
          marked: own.has(clip.number),
          beside: panel
            ? clip.items.map((item) => {
                const unit = panel.units.find(({ clip: n, duty }) => n === clip.number && duty === item.key);
                const mine = own.get(clip.number)?.get(item.key);
                return { title: item.title, unit, mine: mine && findingLabels[item.gradedAs][mine] };
              })
            : null,
        })),
      },
      { title: set.title },
    );
  }

  pages.get('/calibration/:setId/mark', { config, schema: { hide: true, params } }, async (request, reply) =>
    overview(request, reply, request.params.setId),
  );

  async function clipPage(
    request: FastifyRequest,
    reply: FastifyReply,
    { setId, number }: { setId: string; number: number },
    sent?: {
      findings: Readonly<Record<string, string>>;
      wrong: ReadonlyMap<string, string>;
      refused?: string;
    },
  ) {
    const { conferenceId, personId } = sessionOf(request);
    const set = await readSet(pool, conferenceId, setId);
    const clip = set.clips.find((one) => one.number === number);
    if (!clip) throw notFound('clip');
    const own = (await readOwnMarks(pool, conferenceId, setId, personId)).get(number);
    const facts = (await readPlayFacts(pool, conferenceId, [clip.playId])).get(clip.playId);
    const film = await readClipFilm(pool, conferenceId, clip.playId);
    const doneAt = set.observers.find(({ observerId }) => observerId === personId)?.doneAt ?? null;
    return reply.page(
      'calibration/clip',
      {
        set,
        clip,
        refused: sent?.refused,
        wrong: (sent?.wrong.size ?? 0) > 0,
        inWords: facts ? playInWords(facts.play) : '',
        film: 'lacking' in film ? null : clipAddress(setId, number, film),
        lacking: 'lacking' in film ? film.lacking : null,
        canMark: set.state === 'open' && doneAt === null,
        earlier: number > 1 ? set.clips.findLast((one) => one.number < number)?.number : undefined,
        items: clip.items.map((item) => ({
          ...item,
          wrong: sent?.wrong.get(item.key),
          findings: clipFindings.map((value) => ({
            value,
            label: findingLabels[item.gradedAs][value],
            chosen: (sent?.findings[item.key] ?? own?.get(item.key)) === value,
          })),
        })),
      },
      { title: `Clip ${number} of ${set.title}` },
    );
  }

  pages.get(
    '/calibration/:setId/clips/:number',
    { config, schema: { hide: true, params: ofClip } },
    async (request, reply) => clipPage(request, reply, request.params),
  );

  pages.post(
    '/calibration/:setId/clips/:number',
    { config, schema: { hide: true, params: ofClip } },
    async (request, reply) => {
      const session = sessionOf(request);
      const { setId, number } = request.params;
      const set = await readSet(pool, session.conferenceId, setId);
      const clip = set.clips.find((one) => one.number === number);
      if (!clip) throw notFound('clip');
      const form = formOf(request.body);
      const findings = Object.fromEntries(
        clip.items.flatMap(({ key }) => {
          const finding = clipFindings.find((one) => one === textOf(form[`item.${key}`]));
          return finding ? [[key, finding] as [string, ClipFinding]] : [];
        }),
      );
      try {
        await putClipMarks(pool, session, setId, number, findings);
      } catch (error) {
        if (!(error instanceof Problem) || ![400, 409].includes(error.status)) throw error;
        reply.code(error.status);
        const wrong = new Map((error.errors ?? []).map(({ field, message }) => [field, message]));
        return clipPage(request, reply, request.params, {
          findings,
          wrong,
          ...(wrong.size === 0 ? { refused: error.message } : {}),
        });
      }
      const own = await readOwnMarks(pool, session.conferenceId, setId, session.personId);
      const next =
        set.clips.find((one) => one.number > number && !own.has(one.number)) ??
        set.clips.find((one) => !own.has(one.number));
      return reply.redirect(`/calibration/${setId}/${next ? `clips/${next.number}` : 'mark'}`, 303);
    },
  );

  pages.post(
    '/calibration/:setId/hand-in',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const { setId } = request.params;
      try {
        await handIn(pool, sessionOf(request), setId);
        return reply.redirect(`/calibration/${setId}/mark`, 303);
      } catch (error) {
        if (!(error instanceof Problem) || error.status !== 409) throw error;
        reply.code(409);
        return overview(request, reply, setId, error.message);
      }
    },
  );
}
