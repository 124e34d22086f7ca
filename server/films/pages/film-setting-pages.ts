import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import { errorsBesideLabels, type Form, type FormErrors, formOf, textOf } from '../../web/form.ts';
import { filmSetting, keepFilmSetting, readFilmSetting, viewers } from '../film-setting.ts';
import { spaceTaken } from '../film-store.ts';
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
    const { rows } = await pool.query<{
      id: string;
      title: string;
      week: number;
      films: number;
      bytes: number;
    }>(
      `SELECT g.id, t.title, g.week, count(*)::int AS films,
              sum(CASE WHEN f.made_bytes > 0 THEN f.made_bytes WHEN f.source = 'upload' AND f.state <> 'refused' THEN f.bytes ELSE 0 END)::float8 AS bytes
         FROM film f JOIN game g ON g.conference_id = f.conference_id AND g.id = f.game_id
         JOIN game_teams t ON t.conference_id = g.conference_id AND t.game_id = g.id
        WHERE f.conference_id = $1 GROUP BY g.id, t.title, g.week, g.kickoff ORDER BY bytes DESC, g.kickoff LIMIT 200`,
      [conferenceId],
    );
    return reply.page(
      'films/settings',
      {
        ...{ values, errors, notice },
        choices: Object.entries(viewers).map(([name, title]) => ({ name, title, isChosen: name === chosen })),
        taken: bytesInWords(await spaceTaken(pool, conferenceId)),
        games: rows.map((game) => ({
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
