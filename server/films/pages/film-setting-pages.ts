import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import { errorsBesideLabels, type Form, type FormErrors, formOf, textOf } from '../../web/form.ts';
import { filmSetting, keepFilmSetting, readFilmSetting, viewers } from '../film-setting.ts';
import { filmsByGame, spaceTaken } from '../film-store.ts';
import { hasFfmpeg, noFfmpeg } from '../looking/tool-process.ts';
import { bytesInWords } from './film-view.ts';

const path = '/settings/film';

/** Who may see film, how much is kept, and what there is. */
export async function filmSettingPages(app: FastifyInstance): Promise<void> {
  const { pool } = app.database;
  const hidden = { config: { policy: policies.coordinator }, schema: { hide: true } } as const;

  async function show(
    request: FastifyRequest,
    reply: FastifyReply,
    values: Form | object,
    { errors = {}, notice }: { errors?: FormErrors; notice?: string | false } = {},
  ) {
    const { conferenceId } = sessionOf(request);
    const chosen = (values as Form).viewers;
    return reply.page(
      'films/settings',
      {
        ...{ values, errors, notice },
        choices: Object.entries(viewers).map(([name, title]) => ({ name, title, isChosen: name === chosen })),
        taken: bytesInWords(await spaceTaken(pool, conferenceId)),
        games: (await filmsByGame(pool, conferenceId)).map((game) => ({
          ...game,
          size: game.bytes > 0 ? bytesInWords(game.bytes) : 'elsewhere',
        })),
        noFfmpeg: (await hasFfmpeg()) ? null : noFfmpeg,
      },
      { title: 'Film' },
    );
  }

  app.get(path, hidden, async (request, reply) =>
    show(request, reply, await readFilmSetting(pool, sessionOf(request).conferenceId), {
      notice: textOf(formOf(request.query).done) === 'kept' && 'Kept.',
    }),
  );

  app.post(path, hidden, async (request, reply) => {
    const form = formOf(request.body);
    const typed = filmSetting.safeParse({
      viewers: textOf(form.viewers),
      largest: textOf(form.largest) || undefined,
      space: textOf(form.space) || undefined,
    });
    if (!typed.success)
      return show(request, reply.code(400), form, { errors: errorsBesideLabels(typed.error) });
    await inTransaction(pool, (client) => keepFilmSetting(client, sessionOf(request), typed.data));
    return reply.redirect(`${path}?done=kept`, 303);
  });
}
