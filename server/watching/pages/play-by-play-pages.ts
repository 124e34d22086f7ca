import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { drawingInWords } from '../../football/drawing/drawing-words.ts';
import { fieldSvg } from '../../reports/plays/field-svg.ts';
import { formOf, textOf } from '../../web/form.ts';
import { notFound } from '../../web/problem.ts';
import { numberOf } from '../../web/whole-number.ts';
import { ownPlay } from '../own-play.ts';
import { namesShownTo } from '../stores/names-store.ts';
import { keepAnswer, keepWatched } from '../stores/progress-store.ts';
import { readWatching } from '../stores/viewer-store.ts';
import { ownEdition } from './my-training-pages.ts';

const ofPlay = ownEdition.extend({ play: numberOf('play') });

/** The plays of an edition one by one, as texts and drawings: what there is without film. */
export async function playByPlayPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.toWatch };
  const address = '/my/training/:programId/editions/:number/plays/:play';

  async function view(
    request: FastifyRequest,
    { programId, number, play }: { programId: string; number: number; play: number },
    wrong?: string,
  ) {
    const session = sessionOf(request);
    const watching = await readWatching(pool, session, programId, number);
    const { content, sources } = watching;
    const here = content.plays.find((one) => one.number === play);
    if (!here) throw notFound('play');
    const drawing = sources.find((source) => source.number === play)?.drawing;
    const names = await namesShownTo(pool, session.conferenceId, watching);
    return {
      ...{ watching, content, wrong, at: `/my/training/${programId}/editions/${number}` },
      play: ownPlay(here, watching.answers, names),
      // Teams are named nowhere in an edition.
      svg: drawing && fieldSvg(drawing, undefined, drawingInWords(drawing, undefined)),
      before: content.plays.find((one) => one.number === play - 1)?.number,
      isLast: play === content.plays.length,
      of: content.plays.length,
      isThrough: watching.through.includes(play),
    };
  }

  pages.get(address, { config, schema: { hide: true, params: ofPlay } }, async (request, reply) => {
    const shown = await view(request, request.params);
    if (!shown.watching.hasConfirmed) return reply.redirect(shown.at, 303);
    return reply.page('watching/play', shown, {
      title: `Play ${request.params.play}: ${shown.content.title}`,
    });
  });

  pages.post(address, { config, schema: { hide: true, params: ofPlay } }, async (request, reply) => {
    const { programId, number, play } = request.params;
    const form = formOf(request.body);
    const shown = await view(request, request.params);
    if (shown.play.isOpen) {
      const choice = textOf(form.choice);
      if (!/^\d+$/.test(choice) || Number(choice) >= shown.play.choices.length)
        return reply
          .code(400)
          .page(
            'watching/play',
            { ...shown, wrong: 'Choose one of these.' },
            { title: `Play ${play}: ${shown.content.title}` },
          );
      await keepAnswer(pool, sessionOf(request), programId, number, { play, choice: Number(choice) });
      return reply.redirect(`${shown.at}/plays/${play}#answer`, 303);
    }
    await keepWatched(pool, sessionOf(request), programId, number, { stretches: [], plays: [play] });
    return reply.redirect(shown.isLast ? shown.at : `${shown.at}/plays/${play + 1}`, 303);
  });
}
