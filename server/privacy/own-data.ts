import type { Queryable } from '../database/transaction.ts';
import { holdings } from './holdings.ts';
import { everybody, partsAbout, type Replace, replacing, type Someone } from './people.ts';

export interface OwnData {
  readonly about: string;
  readonly person: Someone;
  /** Rows by table, as the database holds them. */
  readonly tables: Readonly<Record<string, readonly Record<string, unknown>[]>>;
  /** What ids in them mean. */
  readonly names: Readonly<Record<string, string>>;
  readonly letters: readonly { readonly id: string; readonly name: string; readonly pdf: Buffer }[];
}

/**
 * Everything that is held about a person, and nothing about others: they stand in it as "another official", "an
 * observer", "the coordinator".
 * @param all also what the conference has not released to the person yet
 * @returns null when there is no such person
 */
export async function ownData(
  db: Queryable,
  conferenceId: string,
  personId: string,
  { all }: { all: boolean },
): Promise<OwnData | null> {
  const people = await everybody(db, conferenceId);
  const person = people.find(({ id }) => id === personId);
  if (!person) return null;
  const others = people.filter(({ id }) => id !== personId);
  const withoutOthers = replacing(others, people, (other) => inTheirPlace(other, person));
  const tables: Record<string, Record<string, unknown>[]> = {};
  for (const [name, holding] of Object.entries(holdings)) {
    if (holding.theirs === null) continue;
    const columns = [...holding.facts, ...holding.people, ...holding.words];
    const { rows } = await db.query(
      `SELECT ${columns.map((column) => `t."${column}"`).join(', ')}, ${holding.partly ?? 'false'} AS "partly?"
         FROM "${name}" t WHERE ${holding.theirs}
          AND NOT CASE WHEN $3::boolean THEN ${holding.sealed ?? 'false'} ELSE ${holding.notYet ?? 'false'} END`,
      [conferenceId, personId, all],
    );
    if (rows.length > 0) {
      tables[name] = rows.map((row) => given(row, holding.words, personId, withoutOthers));
    }
  }
  if (all) tables.kept_result = await keptFigures(db, conferenceId, personId, withoutOthers);
  return {
    about: aboutTheData(all, {
      ties: await tiesWithheld(db, conferenceId, personId),
      ballots: all && (await ballotsWithheld(db, conferenceId, personId)),
    }),
    person,
    tables,
    names: withoutOthers(await namesOf(db, conferenceId, tables)),
    letters: await lettersOf(db, conferenceId, personId, all),
  };
}

function inTheirPlace(other: Someone, person: Someone): string {
  if (other.roles.includes('coordinator')) return 'the coordinator';
  if (other.roles.includes('team contact')) return 'a team’s contact';
  if (other.roles.includes('observer') && !other.roles.includes('official')) return 'an observer';
  return person.roles.includes('official') ? 'another official' : 'an official';
}

function given(
  row: Record<string, unknown>,
  words: readonly string[],
  personId: string,
  withoutOthers: Replace,
): Record<string, unknown> {
  const { 'partly?': partly, ...rest } = row;
  const told = Object.entries(rest).map(([column, value]) => {
    const many = partly === true && words.includes(column) && typeof value === 'object';
    return [column, withoutOthers(many ? partsAbout(value, personId) : value)];
  });
  return Object.fromEntries(told);
}

async function keptFigures(db: Queryable, conferenceId: string, personId: string, withoutOthers: Replace) {
  const { rows } = await db.query<{ season_id: string; kind: string; result: unknown; computed_at: Date }>(
    'SELECT season_id, kind, result, computed_at FROM kept_result WHERE conference_id = $1 ORDER BY season_id, kind',
    [conferenceId],
  );
  return rows
    .map(({ result, ...row }) => ({ ...row, parts: withoutOthers(partsAbout(result, personId)) }))
    .filter(({ parts }) => parts.length > 0);
}

const uuids = /[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}/g;

async function namesOf(db: Queryable, conferenceId: string, tables: object): Promise<Record<string, string>> {
  const ids = [...new Set(JSON.stringify(tables).match(uuids))];
  const { rows } = await db.query<{ id: string; name: string }>(
    `SELECT game_id::text AS id, title AS name FROM game_teams WHERE conference_id = $1 AND game_id = ANY ($2::uuid[])
      UNION ALL SELECT id::text, 'season ' || name FROM season WHERE conference_id = $1 AND id = ANY ($2::uuid[])
      UNION ALL SELECT id::text, name FROM team WHERE conference_id = $1 AND id = ANY ($2::uuid[])
      UNION ALL SELECT id::text, name FROM crew WHERE conference_id = $1 AND id = ANY ($2::uuid[])
      UNION ALL SELECT l.id::text, 'play ' || l.number || ' of ' || g.title FROM play l
        JOIN game_teams g ON g.conference_id = l.conference_id AND g.game_id = l.game_id
       WHERE l.conference_id = $1 AND l.id = ANY ($2::uuid[])
      UNION ALL SELECT r.id::text, 'report on ' || g.title FROM report r
        JOIN game_teams g ON g.conference_id = r.conference_id AND g.game_id = r.game_id
       WHERE r.conference_id = $1 AND r.id = ANY ($2::uuid[])`,
    [conferenceId, ids],
  );
  return Object.fromEntries(rows.map(({ id, name }) => [id, name]));
}

async function lettersOf(db: Queryable, conferenceId: string, personId: string, all: boolean) {
  const { rows } = await db.query<{ id: string; name: string; pdf: Buffer }>(
    `SELECT l.id, s.name || ' ' || l.kind || ' edition ' || l.edition || '.pdf' AS name, l.pdf
       FROM letter l JOIN season s ON s.conference_id = l.conference_id AND s.id = l.season_id
      WHERE l.conference_id = $1 AND l.person_id = $2 AND ($3::boolean OR l.released_at IS NOT NULL)
      ORDER BY s.name, l.kind, l.edition`,
    [conferenceId, personId, all],
  );
  return rows;
}

/** Whether somebody declared a tie to the person, or to a crew of theirs: in confidence, so it is not given to them. */
async function tiesWithheld(db: Queryable, conferenceId: string, personId: string): Promise<boolean> {
  const { rowCount } = await db.query(
    `SELECT FROM observer_conflict t
      WHERE t.conference_id = $1 AND t.person_id <> $2
        AND (t.official_id = $2 OR EXISTS (SELECT FROM crew_member m
              WHERE m.conference_id = $1 AND m.crew_id = t.crew_id AND m.person_id = $2)) LIMIT 1`,
    [conferenceId, personId],
  );
  return rowCount === 1;
}

/** Whether committee members wrote about them, or they as a member, what nobody else reads while it is sealed. */
async function ballotsWithheld(db: Queryable, conferenceId: string, personId: string): Promise<boolean> {
  const { theirs, sealed } = holdings.selection_ballot!;
  const { rowCount } = await db.query(
    `SELECT FROM selection_ballot t WHERE ${theirs} AND (${sealed}) LIMIT 1`,
    [conferenceId, personId],
  );
  return rowCount === 1;
}

const aboutTheData = (
  all: boolean,
  withheld: { readonly ties: boolean; readonly ballots: boolean },
) => `What this conference's Crewmark holds about you.

data.json     rows by table, as the database holds them; times are UTC
names.json    what the ids of games, plays, seasons, crews and reports in it stand for
letters/      the letters written to you, as they were issued
voice/        what you spoke over plays of training programs

Others stand in it as "another official", "an observer" or "the coordinator", since they have the same right to their
data as you to yours. Passwords, keys and links that let somebody in are not in it. ${
  all
    ? 'It holds also what was not released to you yet.'
    : 'What the conference has not released to you yet (reports under review, letters in draft, notes of the coordinator) is not in it: ask the coordinator for it.'
}${
  withheld.ballots
    ? `

Withheld: ballots of a committee on games after the season that are sealed, or were not sealed when it opened its ballots. Only
whoever wrote one reads it; members find their own by "My data".`
    : ''
}${
  withheld.ties
    ? `

Withheld: observers declared a conflict or a tie to you or to a crew of yours, so that they are not sent to your games. They
said so in confidence, so who they are and what they wrote is not in it; the coordinator can tell you why it was declared.`
    : ''
}
`;
