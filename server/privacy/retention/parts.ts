import type { Queryable } from '../../database/transaction.ts';
import type { RetentionKind } from './kinds.ts';

/** What stands where an official's answer stood; an answer cannot be empty. */
const noLongerKept = 'No longer kept.';
const erased = 'Erased.';

/** Rows that go together: counted by a dry run and changed afterwards by the very same condition. */
interface Part {
  /** As people read it: "comments on marks". */
  readonly what: string;
  readonly table: string;
  /** Which rows `t`: $1 the conference, $2 the season or, where it is not of seasons, the years. */
  readonly where: string;
  /** What becomes of them; left out, they are deleted. */
  readonly set?: string;
}

const inReports = (id: string) =>
  `EXISTS (SELECT FROM report r WHERE r.conference_id = t.conference_id AND r.id = ${id} AND r.season_id = $2::uuid)`;
const inGames = `EXISTS (SELECT FROM game g WHERE g.conference_id = t.conference_id AND g.id = t.game_id AND g.season_id = $2::uuid)`;
const ofMark = (id: string) =>
  `EXISTS (SELECT FROM observation o JOIN report r ON r.conference_id = o.conference_id AND r.id = o.report_id
            WHERE o.conference_id = t.conference_id AND o.id = ${id} AND r.season_id = $2::uuid)`;
const inSelections = `EXISTS (SELECT FROM selection s WHERE s.conference_id = t.conference_id AND s.id = t.selection_id AND s.season_id = $2::uuid)`;
const ofSeason = 't.season_id = $2::uuid';

/** Older than so many years, and than every season that is not closed: what belongs to one of those stays whole. */
export const olderThan = `LEAST(now() - make_interval(years => $2::int),
  (SELECT min(LEAST(s.created_at, (SELECT min(w.first_day)::timestamptz FROM season_week w
                                    WHERE w.conference_id = s.conference_id AND w.season_id = s.id)))
     FROM season s WHERE s.conference_id = $1 AND s.state <> 'closed'))`;

/** Of a closed season, by kind. In this order, since a letter is held by its job. */
export const partsOfSeason: Readonly<Partial<Record<RetentionKind, readonly Part[]>>> = {
  remarks: [
    {
      what: 'comments on marks',
      table: 'observation',
      where: `t.comment <> '' AND ${inReports('t.report_id')}`,
      set: `comment = ''`,
    },
    { what: 'notes on plays', table: 'play', where: `t.note <> '' AND ${inGames}`, set: `note = ''` },
    {
      what: 'general comments and reasons of reports returned',
      table: 'report',
      where: `${ofSeason} AND (t.general_comment <> '' OR t.returned_reason <> '')`,
      set: `general_comment = '', returned_reason = NULL`,
    },
    {
      what: 'notes on rulings',
      table: 'ruling',
      where: `t.note <> '' AND EXISTS (SELECT FROM reply y JOIN observation o ON o.conference_id = y.conference_id AND o.id = y.observation_id
                JOIN report r ON r.conference_id = o.conference_id AND r.id = o.report_id
               WHERE y.conference_id = t.conference_id AND y.id = t.reply_id AND r.season_id = $2::uuid)`,
      set: `note = ''`,
    },
    {
      what: 'answers',
      table: 'reply',
      where: `t.text NOT IN ('${noLongerKept}', '${erased}') AND ${ofMark('t.observation_id')}`,
      set: `text = '${noLongerKept}'`,
    },
    {
      what: 'notes on development points',
      table: 'development_step',
      where: `t.text <> '' AND EXISTS (SELECT FROM development_point d WHERE d.conference_id = t.conference_id AND d.id = t.point_id AND d.season_id = $2::uuid)`,
      set: `text = ''`,
    },
    {
      what: 'questions of teams',
      table: 'inquiry',
      where: `${ofSeason} AND (t.question || t.film || t.new_film || t.sent_back_reason) <> ''`,
      set: `question = '', film = '', new_film = '', sent_back_reason = ''`,
    },
    {
      what: 'answers to teams',
      table: 'inquiry_answer',
      where: `(t.rule || t.reason) <> '' AND ${inGames}`,
      set: `rule = '', reason = ''`,
    },
    {
      what: 'statements about plays',
      table: 'inquiry_statement',
      where: `(t.asked || t.text) <> '' AND ${inGames}`,
      set: `asked = '', text = ''`,
    },
    {
      what: 'second readings',
      table: 'inquiry_reading',
      where: `(t.words || t.differs) <> '' AND ${inGames}`,
      set: `words = '', differs = ''`,
    },
    {
      what: 'reasons given for assignments',
      table: 'observer_assignment',
      where: `(t.override_reason <> '' OR t.decline_reason <> '') AND ${inGames}`,
      set: 'override_reason = NULL, decline_reason = NULL',
    },
    {
      what: 'objections to being shown in training',
      table: 'training_shown',
      where: `(t.reason <> '' OR t.decision_reason <> '') AND EXISTS (SELECT FROM training_program p
               WHERE p.conference_id = t.conference_id AND p.id = t.program_id AND p.season_id = $2::uuid)`,
      set: `reason = '', decision_reason = ''`,
    },
    {
      what: 'notes on ballots of selections',
      table: 'selection_ballot',
      where: `t.note <> '' AND ${inSelections}`,
      set: `note = ''`,
    },
    {
      what: 'reasons given for choices',
      table: 'selection_choice',
      where: `t.reason <> '' AND ${inSelections}`,
      set: `reason = ''`,
    },
    {
      what: 'reasons given to pass somebody over',
      table: 'selection_pass_over',
      where: `t.reason <> '${noLongerKept}' AND ${inSelections}`,
      set: `reason = '${noLongerKept}'`,
    },
    {
      what: 'reasons of answers to offers',
      table: 'selection_offer',
      where: `(t.reason <> '' OR t.recorded_note <> '') AND ${inSelections}`,
      set: `reason = '', recorded_note = ''`,
    },
    {
      what: 'reasons of conflicts declared',
      table: 'selection_conflict',
      where: `t.reason <> '${noLongerKept}' AND ${inSelections}`,
      set: `reason = '${noLongerKept}'`,
    },
    {
      what: 'reasons for a standing',
      table: 'official_fact',
      where: `t.standing_reason <> '' AND ${ofSeason}`,
      set: `standing_reason = ''`,
    },
  ],
  letters: [
    {
      what: 'records of selections',
      table: 'selection_record',
      where: `t.pdf IS NOT NULL AND ${inSelections}`,
      set: `pdf = NULL, gone_because = 'retention'`,
    },
    {
      what: 'letters to teams',
      table: 'inquiry_answer',
      where: `t.pdf IS NOT NULL AND ${inGames}`,
      set: 'pdf = NULL',
    },
    { what: 'runs in which letters were written', table: 'letter_batch', where: ofSeason },
    { what: 'letters', table: 'letter', where: ofSeason },
    { what: 'season books', table: 'season_book', where: ofSeason },
  ],
  absences: [{ what: 'answers when officials are away', table: 'season_availability', where: ofSeason }],
};

/** Of no one season, by kind. */
export const partsOfConference: Readonly<Partial<Record<RetentionKind, readonly Part[]>>> = {
  absences: [
    { what: 'absences of observers', table: 'observer_absence', where: `t.last_day < (${olderThan})::date` },
  ],
  messages: [
    { what: 'messages', table: 'message', where: `t.mail <> 'waiting' AND t.happened_at < ${olderThan}` },
  ],
  tokens: [
    {
      what: 'ended tokens',
      table: 'api_token',
      where: `LEAST(t.expires_at, coalesce(t.revoked_at, t.expires_at)) < ${olderThan}`,
    },
  ],
};

/** How many there are of each part, by what it is called; those of none are left out. */
export type Counts = Readonly<Record<string, number>>;

const each = async (
  parts: readonly Part[],
  count: (part: Part) => Promise<number | null>,
): Promise<Counts> => {
  const counts: Record<string, number> = {};
  for (const part of parts) {
    const found = (await count(part)) ?? 0;
    if (found > 0) counts[part.what] = found;
  }
  return counts;
};

export const countParts = (
  db: Queryable,
  conferenceId: string,
  of: string | number,
  parts: readonly Part[],
): Promise<Counts> =>
  each(parts, async ({ table, where }) => {
    const { rows } = await db.query<{ n: number }>(
      `SELECT count(*)::int AS n FROM ${table} t WHERE t.conference_id = $1 AND ${where}`,
      [conferenceId, of],
    );
    return rows[0]!.n;
  });

export const takeParts = (
  client: Queryable,
  conferenceId: string,
  of: string | number,
  parts: readonly Part[],
): Promise<Counts> =>
  each(parts, async ({ table, where, set }) => {
    const { rowCount } = await client.query(
      set === undefined
        ? `DELETE FROM ${table} t WHERE t.conference_id = $1 AND ${where}`
        : `UPDATE ${table} t SET ${set} WHERE t.conference_id = $1 AND ${where}`,
      [conferenceId, of],
    );
    return rowCount;
  });
