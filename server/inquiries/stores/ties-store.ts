import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Queryable } from '../../database/transaction.ts';
import { notFound } from '../../web/problem.ts';
import { InquiryRefused } from '../rules/states.ts';
import { type Tie, whyNotHandle, workedIt } from '../rules/ties.ts';

/** What may be declared of a team, as observers declare it too. */
export const tieKinds = ['school tie', 'family', 'business interest', 'other interest'] as const;
type TieKind = (typeof tieKinds)[number];

/** Ties of people to what has to do with a game: its teams, its crew, the officials who worked it. By person. */
export async function tiesToGame(
  db: Queryable,
  conferenceId: string,
  gameId: string,
  personIds: readonly string[],
): Promise<ReadonlyMap<string, readonly Tie[]>> {
  const { rows } = await db.query<Tie & { personId: string }>(
    `SELECT c.person_id AS "personId", c.kind,
            CASE WHEN t.id IS NOT NULL THEN 'team' WHEN w.id IS NOT NULL THEN 'crew' ELSE 'official' END AS with,
            coalesce(t.name, w.name, 'an official of the game') AS name
       FROM game g
       JOIN observer_conflict c ON c.conference_id = g.conference_id AND c.person_id = ANY ($3::uuid[])
       LEFT JOIN team t ON t.conference_id = c.conference_id AND t.id = c.team_id
       LEFT JOIN crew w ON w.conference_id = c.conference_id AND w.id = c.crew_id
      WHERE g.conference_id = $1 AND g.id = $2
        AND (c.team_id IN (g.home_team_id, g.visiting_team_id) OR c.crew_id = g.crew_id
             OR c.official_id IN (SELECT m.person_id FROM working_crew_member m
                                   WHERE m.conference_id = $1 AND m.game_id = g.id))
      ORDER BY c.declared_at, c.id`,
    [conferenceId, gameId, personIds],
  );
  const ties = new Map<string, Tie[]>();
  for (const { personId, ...tie } of rows) ties.set(personId, [...(ties.get(personId) ?? []), tie]);
  return ties;
}

/** @throws InquiryRefused naming what they declared, where it has to do with the game, or when they worked it themselves */
export async function requireNoTie(client: Queryable, acting: PersonActing, gameId: string): Promise<void> {
  const ties = await tiesToGame(client, acting.conferenceId, gameId, [acting.personId]);
  const why = whyNotHandle(ties.get(acting.personId) ?? []);
  if (why) throw new InquiryRefused(why);
  if (await workedGame(client, acting, gameId)) throw new InquiryRefused(workedIt);
}

/** Whether somebody, who is an official as well, was of the crew. */
export async function workedGame(
  db: Queryable,
  { conferenceId, personId }: PersonActing,
  gameId: string,
): Promise<boolean> {
  const { rowCount } = await db.query(
    'SELECT FROM working_crew_member WHERE conference_id = $1 AND game_id = $2 AND person_id = $3',
    [conferenceId, gameId, personId],
  );
  return rowCount !== 0;
}

interface OwnTie {
  readonly id: string;
  readonly kind: string;
  readonly name: string;
}

/** What a person declared of teams. */
export async function ownTies(db: Queryable, conferenceId: string, personId: string): Promise<OwnTie[]> {
  const { rows } = await db.query<OwnTie>(
    `SELECT c.id, c.kind, t.name FROM observer_conflict c
       JOIN team t ON t.conference_id = c.conference_id AND t.id = c.team_id
      WHERE c.conference_id = $1 AND c.person_id = $2 ORDER BY t.name, c.kind`,
    [conferenceId, personId],
  );
  return rows;
}

/** @throws InquiryRefused when there is no such team, or it is declared already */
export async function declareTie(
  client: Queryable,
  acting: PersonActing,
  { teamId, kind }: { teamId: string; kind: TieKind },
): Promise<void> {
  const { conferenceId, personId } = acting;
  const { rows } = await client.query<{ name: string; declared: boolean }>(
    `SELECT t.name, EXISTS (SELECT FROM observer_conflict c WHERE c.conference_id = $1 AND c.person_id = $3
                               AND c.team_id = t.id AND c.kind = $4) AS declared
       FROM team t WHERE t.conference_id = $1 AND t.id = $2`,
    [conferenceId, teamId, personId, kind],
  );
  const team = rows[0];
  if (!team) throw new InquiryRefused('There is no such team; choose one of them.', 'teamId');
  if (team.declared) throw new InquiryRefused(`You declared a ${kind} with ${team.name} already.`, 'teamId');
  await client.query(
    'INSERT INTO observer_conflict (conference_id, person_id, kind, team_id) VALUES ($1, $2, $3, $4)',
    [conferenceId, personId, kind, teamId],
  );
  await appendAudit(client, {
    ...{
      conferenceId,
      actorId: personId,
      action: 'tie declared',
      subjectKind: 'person',
      subjectId: personId,
    },
    after: { kind, team: team.name },
  });
}

/** Takes back what one declared of a team oneself. @throws Problem 404 when it is not there */
export async function takeBackTie(client: Queryable, acting: PersonActing, tieId: string): Promise<void> {
  const { conferenceId, personId } = acting;
  const { rows } = await client.query<{ kind: string; name: string }>(
    `DELETE FROM observer_conflict c USING team t
      WHERE c.conference_id = $1 AND c.id = $3 AND c.person_id = $2 AND t.conference_id = $1 AND t.id = c.team_id
      RETURNING c.kind, t.name`,
    [conferenceId, personId, tieId],
  );
  if (!rows[0]) throw notFound('tie');
  await appendAudit(client, {
    ...{
      conferenceId,
      actorId: personId,
      action: 'tie taken back',
      subjectKind: 'person',
      subjectId: personId,
    },
    before: { kind: rows[0].kind, team: rows[0].name },
  });
}
