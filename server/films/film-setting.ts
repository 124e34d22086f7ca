import { z } from 'zod';
import type { PersonActing } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import type { Queryable } from '../database/transaction.ts';

/** Who may see film, from the fewest on; each with those before it. */
export const viewers = {
  coordinators: 'Coordinators only',
  observers: 'And the observers of the game',
  officials: 'And, once a report of the game is released, the officials who worked it',
} as const;
type Viewers = keyof typeof viewers;

const megabytes = (name: string, most: number) => {
  const sentence = `${name} must be a whole number of megabytes from 1 to ${most}`;
  return z.coerce.number(sentence).int(sentence).min(1, sentence).max(most, sentence);
};

export const filmSetting = z.object({
  viewers: z
    .enum(
      Object.keys(viewers) as [Viewers, ...Viewers[]],
      'viewers must be coordinators, observers or officials',
    )
    .describe('Who may see film; each with those before it.'),
  largest: megabytes('largest', 1_000_000).describe('The largest file of one film, in millions of bytes.'),
  space: megabytes('space', 100_000_000).describe('What all films together may take on the server.'),
});
type FilmSetting = z.infer<typeof filmSetting>;

const usual: FilmSetting = { viewers: 'observers', largest: 12_000, space: 200_000 };

export async function readFilmSetting(db: Queryable, conferenceId: string): Promise<FilmSetting> {
  const { rows } = await db.query<FilmSetting>(
    'SELECT viewers, largest, space FROM film_setting WHERE conference_id = $1',
    [conferenceId],
  );
  return rows[0] ?? usual;
}

export async function keepFilmSetting(
  client: Queryable,
  { conferenceId, personId }: PersonActing,
  setting: FilmSetting,
): Promise<void> {
  await client.query('SELECT FROM conference WHERE id = $1 FOR NO KEY UPDATE', [conferenceId]);
  const before = await readFilmSetting(client, conferenceId);
  const { viewers: who, largest, space } = setting;
  if (before.viewers === who && before.largest === largest && before.space === space) return;
  await client.query(
    `INSERT INTO film_setting (conference_id, viewers, largest, space) VALUES ($1, $2, $3, $4)
     ON CONFLICT (conference_id) DO UPDATE SET viewers = excluded.viewers, largest = excluded.largest, space = excluded.space`,
    [conferenceId, who, largest, space],
  );
  await appendAudit(client, {
    ...{ conferenceId, actorId: personId, action: 'settings of film changed' },
    ...{ subjectKind: 'conference', subjectId: conferenceId, before, after: setting },
  });
}
