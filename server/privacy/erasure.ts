import type pg from 'pg';
import type { Acting } from '../accounts/acting.ts';
import { type AuditContent, appendAudit } from '../accounts/audit/audit.ts';
import { canonicalJson } from '../accounts/audit/canonical-json.ts';
import { fullName } from '../accounts/people-names.ts';
import type { Queryable } from '../database/transaction.ts';
import { holdings } from './holdings.ts';
import { everybody, type Replace, replacing, type Someone } from './people.ts';
import {
  beginTakingAway,
  type Changed,
  hasSeal,
  noteChanged,
  rewriteHistory,
  rewriteTrail,
  type TrailRow,
} from './taking-away.ts';

const inTheirPlace = 'somebody whose data was erased';
const erasedReply = 'Erased.';

interface Erased {
  /** Marks whose comment is gone. Their finding and duty stay. */
  readonly comments: number;
  readonly letters: number;
  /** Entries of the audit trail from which words were taken. */
  readonly entries: number;
}

interface Whose {
  readonly conferenceId: string;
  readonly person: Someone;
  /** Marks about them, by id. */
  readonly marks: ReadonlySet<string>;
  readonly replies: ReadonlySet<string>;
  readonly points: ReadonlySet<string>;
  readonly withoutName: Replace;
}

/**
 * Takes a person's data away and keeps the season's figures: every count, finding and duty stays under an id that says
 * nothing. Done in the caller's transaction.
 * @throws Error when there is no such person
 */
export async function erasePerson(
  client: pg.PoolClient,
  acting: Acting,
  personId: string,
  reason: string,
): Promise<Erased> {
  const { conferenceId } = acting;
  await beginTakingAway(client, conferenceId);
  await client.query('SELECT FROM person WHERE conference_id = $1 AND id = $2 FOR UPDATE', [
    conferenceId,
    personId,
  ]);
  const people = await everybody(client, conferenceId);
  const person = people.find(({ id }) => id === personId);
  if (!person) throw new Error('There is no such person.');
  const names = replacing([person], people, ({ id }) => id);
  const withoutName: Replace = (value) => dropId(names(value), personId);
  const whose: Whose = {
    conferenceId,
    person,
    marks: await idsOf(client, 'observation', 'person_id', whoseArgs(conferenceId, personId)),
    replies: await idsOf(client, 'reply', 'official_id', whoseArgs(conferenceId, personId)),
    points: await idsOf(client, 'development_point', 'person_id', whoseArgs(conferenceId, personId)),
    withoutName,
  };
  const changed = await marksAboutThem(client, whose);
  const comments = await removeOwnWords(client, whose);
  const letters = await removeFiles(client, whose);
  await removeVoice(client, whose);
  await removeAccount(client, whose);
  await sweepWords(client, whose, changed);
  await rewriteHistory(client, conferenceId, (value) => withoutName(withoutComments(value, whose)));
  await noteChanged(client, acting, changed);
  const taken = await rewriteTrail(client, conferenceId, (row, content, keepSeal) =>
    leftOf(row, content, whose, keepSeal),
  );
  await appendAudit(client, {
    conferenceId,
    actorId: acting.personId,
    action: 'erased a person’s data',
    subjectKind: 'person',
    subjectId: personId,
    reason: withoutName(reason),
    after: { comments, letters, entries: Object.keys(taken).length, wordsTakenAway: taken },
  });
  return { comments, letters, entries: Object.keys(taken).length };
}

const whoseArgs = (conferenceId: string, personId: string) => [conferenceId, personId];

/** The id stands where a name stood while texts are worked on; in texts it becomes words, as a value it stays. */
function dropId<Value>(value: Value, personId: string): Value {
  const inValue = (part: unknown): unknown => {
    if (typeof part === 'string') return part === personId ? part : part.replaceAll(personId, inTheirPlace);
    if (Array.isArray(part)) return part.map(inValue);
    if (part === null || typeof part !== 'object' || part instanceof Date) return part;
    return Object.fromEntries(Object.entries(part).map(([key, member]) => [key, inValue(member)]));
  };
  return inValue(value) as Value;
}

async function idsOf(
  client: Queryable,
  table: string,
  column: string,
  args: string[],
): Promise<ReadonlySet<string>> {
  const { rows } = await client.query<{ id: string }>(
    `SELECT id FROM ${table} WHERE conference_id = $1 AND ${column} = $2`,
    args,
  );
  return new Set(rows.map(({ id }) => id));
}

async function marksAboutThem(client: Queryable, { conferenceId, person }: Whose): Promise<Changed> {
  const { rows } = await client.query<{ id: string }>(
    `SELECT id FROM observation WHERE conference_id = $1 AND person_id = $2 AND comment <> ''`,
    [conferenceId, person.id],
  );
  return { marks: new Set(rows.map(({ id }) => id)), reports: new Set() };
}

/** What was written about them, and what they wrote about themselves or in general. @returns the comments removed */
async function removeOwnWords(client: Queryable, { conferenceId, person }: Whose): Promise<number> {
  const args = [conferenceId, person.id];
  const run = (sql: string, more: unknown[] = []) => client.query(sql, [...args, ...more]);
  const comments = await run(
    `UPDATE observation SET comment = '' WHERE conference_id = $1 AND person_id = $2 AND comment <> ''`,
  );
  await run(
    `UPDATE ruling u SET note = '' FROM reply y
      WHERE u.conference_id = $1 AND y.conference_id = $1 AND y.id = u.reply_id AND y.official_id = $2`,
  );
  await run('UPDATE reply SET text = $3 WHERE conference_id = $1 AND official_id = $2', [erasedReply]);
  await run(
    `UPDATE development_step s SET text = '' FROM development_point d
      WHERE s.conference_id = $1 AND d.conference_id = $1 AND d.id = s.point_id AND d.person_id = $2`,
  );
  await run(`UPDATE development_point SET evidence = NULL WHERE conference_id = $1 AND person_id = $2`);
  await run(
    `UPDATE observer_assignment SET override_reason = NULL, decline_reason = NULL
      WHERE conference_id = $1 AND observer_id = $2`,
  );
  await run(`UPDATE season_availability SET note = '' WHERE conference_id = $1 AND person_id = $2`);
  await run(
    `UPDATE inquiry_statement SET text = '' WHERE conference_id = $1 AND person_id = $2 AND text <> ''`,
  );
  await run(
    `UPDATE selection_ballot SET note = '' WHERE conference_id = $1 AND official_id = $2 AND note <> ''`,
  );
  await run(
    `UPDATE selection_offer SET reason = '', recorded_note = ''
      WHERE conference_id = $1 AND official_id = $2 AND (reason <> '' OR recorded_note <> '')`,
  );
  return comments.rowCount ?? 0;
}

/** Letters to them, and what names everybody and is written anew when it is asked for. @returns the letters removed */
async function removeFiles(client: Queryable, { conferenceId, person }: Whose): Promise<number> {
  const args = [conferenceId, person.id];
  await client.query(
    'UPDATE letter_job SET letter_id = NULL, error = NULL WHERE conference_id = $1 AND person_id = $2',
    args,
  );
  const letters = await client.query('DELETE FROM letter WHERE conference_id = $1 AND person_id = $2', args);
  await client.query('DELETE FROM season_book WHERE conference_id = $1', [conferenceId]);
  // What a team asked stands in its letter, and may name who worked the game, or who asked.
  await client.query(
    `UPDATE inquiry_answer a SET pdf = NULL FROM inquiry i
      WHERE a.conference_id = $1 AND a.pdf IS NOT NULL AND i.conference_id = $1 AND i.id = a.inquiry_id
        AND (i.made_by = $2 OR EXISTS (SELECT FROM working_crew_member w WHERE w.conference_id = $1
                                          AND w.game_id = i.game_id AND w.person_id = $2))`,
    args,
  );
  // A record names who was considered, and who decided; its hash stays.
  await client.query(
    `UPDATE selection_record SET pdf = NULL, gone_because = 'erasure'
      WHERE conference_id = $1 AND pdf IS NOT NULL AND (named IS NULL OR named ? $2)`,
    args,
  );
  // Files waiting to be imported are copies of lists that name people.
  await client.query('DELETE FROM import_upload WHERE conference_id = $1', [conferenceId]);
  return letters.rowCount ?? 0;
}

/** What they spoke: its files go with the next tidying, and reels in which it is heard are made again without it. */
async function removeVoice(client: Queryable, { conferenceId, person }: Whose): Promise<void> {
  const args = [conferenceId, person.id];
  await client.query(
    `UPDATE reel r SET state = 'waiting', facts = NULL, failed = NULL, trouble = NULL, bytes = 0, progress = 0, attempts = 0,
            in_hand_of = NULL, in_hand_until = NULL
      WHERE r.conference_id = $1 AND EXISTS (
        SELECT FROM narration n WHERE n.conference_id = $1 AND n.made_by = $2 AND n.program_id = r.program_id
           AND jsonb_path_exists(r.plan, '$.**.recordingId ? (@ == $id)', jsonb_build_object('id', n.id::text)))`,
    args,
  );
  await client.query('DELETE FROM narration WHERE conference_id = $1 AND made_by = $2', args);
}

const deleted = [
  'session',
  'api_token',
  'account_link',
  'invitation',
  'message',
  'known_device',
  'recovery_code',
  'second_factor',
  'observer_profile',
  'team_contact',
  'observer_absence',
  'season_week_away',
  'official_fact',
  'official_tie',
];

async function removeAccount(client: Queryable, { conferenceId, person }: Whose): Promise<void> {
  const args = [conferenceId, person.id];
  for (const table of deleted) {
    await client.query(`DELETE FROM ${table} WHERE conference_id = $1 AND person_id = $2`, args);
  }
  await client.query(
    'DELETE FROM observer_conflict WHERE conference_id = $1 AND (person_id = $2 OR official_id = $2)',
    args,
  );
  await client.query(
    `DELETE FROM assignment_link l USING observer_assignment a
      WHERE l.conference_id = $1 AND a.conference_id = $1 AND a.id = l.assignment_id AND a.observer_id = $2`,
    args,
  );
  await client.query('DELETE FROM password_request WHERE email = $1', [person.email]);
  const short = person.id.slice(-6);
  await client.query(
    `UPDATE person SET given_name = 'Erased', family_name = $3, email = $4, password_hash = NULL, active = false,
            home_place = NULL, home_latitude = NULL, home_longitude = NULL, mail_refused_at = NULL,
            mail_refused_because = NULL, erased_at = now()
      WHERE conference_id = $1 AND id = $2`,
    [...args, `person ${short}`, `erased-${person.id}@erased.invalid`],
  );
}

/** Written in ways of their own: by functions that may. */
const history = new Set(['audit_entry', 'report_revision', 'report_change']);

/** Takes the name and address out of every text of the conference that people write. */
async function sweepWords(
  client: Queryable,
  { conferenceId, withoutName }: Whose,
  noted: Changed,
): Promise<void> {
  for (const [table, { words, rest, facts }] of Object.entries(holdings)) {
    if (words.length === 0 || history.has(table)) continue;
    const whose = [...rest, ...facts].includes('conference_id') ? 'conference_id' : 'id';
    const { rows } = await client.query<{ ctid: string } & Record<string, unknown>>(
      `SELECT ctid::text, ${facts.includes('id') ? 'id' : 'NULL'} AS "id?", ${words.map((column) => `"${column}"`).join(', ')} FROM "${table}" WHERE ${whose} = $1 FOR UPDATE`,
      [conferenceId],
    );
    for (const { ctid, 'id?': id, ...before } of rows) {
      const after = withoutName(before);
      const changed = words.filter(
        (column) => canonicalJson(before[column]) !== canonicalJson(after[column]),
      );
      if (changed.length === 0) continue;
      if (table === 'observation') noted.marks.add(String(id));
      if (table === 'report') noted.reports.add(String(id));
      await client.query(
        `UPDATE "${table}" SET ${changed.map((column, at) => `"${column}" = $${at + 2}`).join(', ')} WHERE ctid = $1::tid`,
        [ctid, ...changed.map((column) => asParameter(after[column]))],
      );
    }
  }
}

const asParameter = (value: unknown) =>
  value !== null && typeof value === 'object' ? JSON.stringify(value) : value;

const ofMark = ['id', 'markId', 'mark_id', 'observationId'];
const written = ['comment', 'note', 'text', 'reply'];

/** Without what was written in each object that is one of their marks. */
function withoutComments<Value>(value: Value, { marks, person }: Whose): Value {
  const name = fullName(person);
  const inValue = (part: unknown): unknown => {
    if (Array.isArray(part)) return part.map(inValue);
    if (part === null || typeof part !== 'object' || part instanceof Date) return part;
    const object = part as Record<string, unknown>;
    const theirs =
      object.personId === person.id ||
      object.official === name ||
      ofMark.some((key) => marks.has(String(object[key])));
    return Object.fromEntries(
      Object.entries(object).map(([key, member]) => [
        key,
        theirs && written.includes(key) && typeof member === 'string' ? '' : inValue(member),
      ]),
    );
  };
  return inValue(value) as Value;
}

/** What stays of an entry's content. */
function leftOf(row: TrailRow, content: AuditContent, whose: Whose, keepSeal: boolean): AuditContent {
  const { person, marks, replies, points, withoutName } = whose;
  const { subject_kind: kind, subject_id: id } = row;
  // An earlier erasure's digests of what it left stay whatever the entry is about.
  const digests = (content.after as { wordsTakenAway?: unknown } | null)?.wordsTakenAway;
  const aboutThem =
    (kind === 'person' && id === person.id) ||
    (kind === 'observation' && marks.has(id)) ||
    (kind === 'reply' && replies.has(id)) ||
    (kind === 'development_point' && points.has(id));
  if (aboutThem) {
    const left = digests === undefined ? null : { wordsTakenAway: digests };
    return { reason: null, before: null, after: left };
  }
  const without = withoutName(withoutComments(content, whose));
  if (keepSeal || !hasSeal(without.after)) return without;
  // A comment could be guessed by the digest of its mark; the newest seal has those without.
  const { sealed, ...after } = without.after;
  const others = Object.entries(sealed.marks).filter(([mark]) => !marks.has(mark));
  if (others.length === Object.keys(sealed.marks).length) return without;
  return { ...without, after: { ...after, sealed: { ...sealed, marks: Object.fromEntries(others) } } };
}
