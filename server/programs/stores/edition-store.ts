import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { type FoundName, type Named, namesIn } from '../../training/names-in-text.ts';
import { conflict, invalid, notFound } from '../../web/problem.ts';
import type { Edition, EditionCut } from '../edition.ts';
import { contentOf } from '../edition-content.ts';
import type { Program } from '../program.ts';
import { keepAudience } from './audience-store.ts';
import { changedSince } from './change-program.ts';
import { type KeptCut, readCuts } from './cut-store.ts';
import { playsWithOpenReply, readPlayFacts } from './play-facts.ts';
import { readProgram } from './program-rows.ts';
import { nobodyObjects } from './shown-store.ts';

interface ReleaseWanted {
  /** The program's version that the person had before their eyes. */
  readonly version: number;
  /** What was corrected since the last edition; may be empty for the first. */
  readonly note: string;
  /** Words that look like names of officials, crews or teams are meant as they are. */
  readonly namesMeant: boolean;
  /** Why who is shown was not told before: they are to be, or this is said. */
  readonly untoldBecause?: string;
}

/**
 * Releases the program as its next edition, with its facts as they are now.
 *
 * @returns the edition's number
 * @throws Problem 409 while a reply to a mark on one of its plays waits for a ruling, when a play is gone, there is none,
 *   or somebody changed the program since; 400 naming each field where a name stands, and when a correction is not told
 */
export async function releaseEdition(
  pool: pg.Pool,
  acting: PersonActing,
  programId: string,
  { version, note, namesMeant, untoldBecause = '' }: ReleaseWanted,
): Promise<number> {
  const { conferenceId, personId } = acting;
  return inTransaction(pool, async (client) => {
    const program = await readProgram(client, conferenceId, programId, 'lock');
    if (program.version !== version) throw await changedSince(client, acting, program);
    const playIds = program.plays.map(({ playId }) => playId);
    if (playIds.length === 0) throw conflict('There is no play in this program yet; put one in first.');
    const waiting = await playsWithOpenReply(client, conferenceId, playIds, 'hold');
    if (waiting.length > 0) throw conflict(waitingInWords(program, waiting));
    await nobodyObjects(client, conferenceId, programId, untoldBecause);
    const facts = await readPlayFacts(client, conferenceId, playIds);
    const gone = playIds.filter((id) => !facts.has(id));
    if (gone.length > 0)
      throw conflict(`${listed(program, gone)} is no longer in its play log; take it out first.`);
    const number = (await newestNumber(client, conferenceId, programId)) + 1;
    if (number > 1 && note === '')
      throw invalid([{ field: 'note', message: 'say what was corrected since the last edition' }]);
    if (!namesMeant) {
      const named = namesOfProgram(
        { ...program, note },
        await readNamed(client, conferenceId, program.seasonId),
      );
      if (named.length > 0) throw invalid(named);
    }
    const { content, sources } = await contentOf(client, conferenceId, program, facts);
    const cuts = cutsOf(program, await readCuts(client, conferenceId, programId));
    await client.query(
      `INSERT INTO training_edition (conference_id, program_id, number, note, content, sources, cuts, released_by)
       VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
      [
        ...[conferenceId, programId, number, note],
        ...[JSON.stringify(content), JSON.stringify(sources), JSON.stringify(cuts), personId],
      ],
    );
    await keepAudience(client, acting, program, { number, note, content });
    // What was released is not taken back.
    await client.query(
      'UPDATE training_program SET before_last = NULL WHERE conference_id = $1 AND id = $2',
      [conferenceId, programId],
    );
    await appendAudit(client, {
      conferenceId,
      actorId: personId,
      action: `training program: released edition ${number}`,
      subjectKind: 'training_program',
      subjectId: programId,
      after: { edition: number, note, plays: playIds, namesMeant, ...(untoldBecause && { untoldBecause }) },
    });
    return number;
  });
}

/** How the plays that are in the program now are cut. */
export const cutsOf = (program: Program, kept: ReadonlyMap<string, KeptCut>): EditionCut[] =>
  program.plays.flatMap(({ playId }, at) => {
    const cut = kept.get(playId)?.cut;
    return cut ? [{ number: at + 1, cut }] : [];
  });

const listed = (program: Program, playIds: readonly string[]) => {
  const places = playIds.map((id) => program.plays.findIndex(({ playId }) => playId === id) + 1);
  return `Play${places.length > 1 ? 's' : ''} ${new Intl.ListFormat('en-US').format(places.map(String))}`;
};

const waitingInWords = (program: Program, playIds: readonly string[]) =>
  `${listed(program, playIds)} cannot be released: an official's reply to a mark on ${playIds.length > 1 ? 'each' : 'it'} waits for your ruling, or a team's inquiry for its answer. Settle that first, or take the play out.`;

/** Fields of the program in which a name or shirt number stands, each with what was found. */
export function namesOfProgram(program: Program & { note?: string }, named: Named) {
  const texts: [field: string, where: string, text: string][] = [
    ['title', 'the title', program.title],
    ['goal', 'the goal', program.goal],
    ['note', 'the note of what was corrected', program.note ?? ''],
    ...program.plays.flatMap((play, at): [string, string, string][] => {
      const of = (field: string, words: string, text: string): [string, string, string] => [
        `plays.${at}.${field}`,
        `${words} of play ${at + 1}`,
        text,
      ];
      return [
        of('topic', 'the topic', play.topic),
        of('answer', 'the answer', play.answer),
        of('ruleCited', 'the rule', play.ruleCited),
        of('mechanicCited', 'the mechanic', play.mechanicCited),
        of('firstKey', 'the first key point', play.firstKey),
        of('secondKey', 'the second key point', play.secondKey),
        of('question', 'the question', play.question),
        of('choices', 'the choices', play.choices.map(({ text }) => text).join(' / ')),
        of('narration', 'the narration', play.narration),
      ];
    }),
  ];
  return texts.flatMap(([field, where, text]) => {
    const found = namesIn(text, named);
    return found.length === 0
      ? []
      : [{ field, message: `In ${where} stands ${inWords(found)}; everybody would read it.` }];
  });
}

const inWords = (found: readonly FoundName[]) =>
  new Intl.ListFormat('en-US').format(
    found.map(({ kind, words }) =>
      kind === 'number'
        ? `the shirt number “${words}”`
        : `“${words}”, the name of ${kind === 'official' ? 'an official' : `a ${kind}`}`,
    ),
  );

/** Names that no text for everybody should hold. */
export async function readNamed(db: Queryable, conferenceId: string, seasonId: string): Promise<Named> {
  const people = await db.query<Named['people'][number]>(
    `SELECT p.given_name AS "givenName", p.family_name AS "familyName" FROM person p
       JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id AND r.role = 'official'
      WHERE p.conference_id = $1 AND p.erased_at IS NULL`,
    [conferenceId],
  );
  const crews = await db.query<{ name: string }>(
    'SELECT name FROM crew WHERE conference_id = $1 AND season_id = $2',
    [conferenceId, seasonId],
  );
  const teams = await db.query<{ name: string }>('SELECT name FROM team WHERE conference_id = $1', [
    conferenceId,
  ]);
  return {
    people: people.rows,
    crews: crews.rows.map(({ name }) => name),
    teams: teams.rows.map(({ name }) => name),
  };
}

async function newestNumber(db: Queryable, conferenceId: string, programId: string): Promise<number> {
  const { rows } = await db.query<{ number: number }>(
    `SELECT coalesce(max(number), 0)::int AS number FROM training_edition WHERE conference_id = $1 AND program_id = $2`,
    [conferenceId, programId],
  );
  return rows[0]!.number;
}

const columns = `e.program_id AS "programId", e.number, e.note, e.released_by AS "releasedBy", e.released_at AS "releasedAt"`;
type Row = Omit<Edition, 'releasedAt'> & { releasedAt: Date };

/** Editions of a program, the newest first, without what is in them. */
export async function listEditions(
  db: Queryable,
  conferenceId: string,
  programId: string,
): Promise<Omit<Edition, 'content' | 'sources' | 'cuts'>[]> {
  const { rows } = await db.query<Omit<Row, 'content' | 'sources' | 'cuts'>>(
    `SELECT ${columns} FROM training_edition e WHERE e.conference_id = $1 AND e.program_id = $2 ORDER BY e.number DESC`,
    [conferenceId, programId],
  );
  return rows.map((row) => ({ ...row, releasedAt: row.releasedAt.toISOString() }));
}

/** @throws Problem 404 when the conference has no such edition. */
export async function readEdition(
  db: Queryable,
  conferenceId: string,
  programId: string,
  number: number,
): Promise<Edition> {
  const { rows } = await db.query<Row>(
    `SELECT ${columns}, e.content, e.sources, e.cuts FROM training_edition e
      WHERE e.conference_id = $1 AND e.program_id = $2 AND e.number = $3`,
    [conferenceId, programId, number],
  );
  const row = rows[0];
  if (!row) throw notFound('edition of a training program');
  return { ...row, releasedAt: row.releasedAt.toISOString() };
}
