import type { Queryable } from '../database/transaction.ts';
import { positions } from '../football/positions.ts';
import { type Form, listOf, textOf } from '../web/form.ts';
import { capital } from '../web/format.ts';
import { type Audience, audiences } from './audience.ts';

export const audienceOfForm = (form: Form) => ({
  audience: textOf(form.audience) || 'officials',
  positions: listOf(form.positions),
  crewId: textOf(form.crewId) || null,
});

const labels: Readonly<Record<Audience['audience'], string>> = {
  officials: 'All officials',
  positions: 'Some positions',
  crew: 'One crew',
};

/** What the form of an audience shows. */
export async function audienceForm(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  values: ReturnType<typeof audienceOfForm> | Audience,
) {
  const crews = await crewNames(db, conferenceId, seasonId);
  return {
    audiences: audiences.map((id) => ({ id, name: labels[id], chosen: id === values.audience })),
    audiencePositions: positions.map((value) => ({
      value,
      label: capital(value),
      chosen: values.positions.includes(value),
    })),
    crews: [...crews].map(([id, name]) => ({ id, name, chosen: id === values.crewId })),
  };
}

async function crewNames(db: Queryable, conferenceId: string, seasonId: string) {
  const { rows } = await db.query<{ id: string; name: string }>(
    'SELECT id, name FROM crew WHERE conference_id = $1 AND season_id = $2 ORDER BY name',
    [conferenceId, seasonId],
  );
  return new Map(rows.map(({ id, name }) => [id, name]));
}

/** An audience in words, such as "umpires and back judges". */
export async function audienceInWords(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  { audience, positions: of, crewId }: Audience,
): Promise<string> {
  if (audience === 'positions') return `the positions ${new Intl.ListFormat('en-US').format(of.map(String))}`;
  if (audience === 'crew')
    return `crew ${(await crewNames(db, conferenceId, seasonId)).get(crewId ?? '') ?? 'that is gone'}`;
  return 'all officials';
}
