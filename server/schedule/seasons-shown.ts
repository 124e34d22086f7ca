import type { Asking } from '../database/pipeline.ts';
import type { SeasonState } from './season-states.ts';

type SeasonShown = { id: string; name: string; state: SeasonState };

/** What pages show of the conference's seasons: all, newest first; the current one; the one this page is about. */
export type SeasonsShown = {
  all: readonly SeasonShown[];
  current: SeasonShown | null;
  inView: SeasonShown | null;
  /** The one in view until this page, where the thing in its address is of another season. */
  until: SeasonShown | null;
};

/**
 * The same on a page answered with this status: one that is not there, or not theirs, tells nobody of which season it would
 * be, and leaves the one in view.
 */
export function seasonsAt(status: number, shown: SeasonsShown): SeasonsShown {
  const isOfTheThing = status < 500 && status !== 403 && status !== 404;
  return isOfTheThing || !shown.until ? shown : { ...shown, inView: shown.until, until: null };
}

/** The season of a thing in an address, by the name of its parameter; `$2` is the id. */
const seasonOfThing = {
  seasonId: '$2::uuid',
  gameId: 'SELECT season_id FROM game WHERE conference_id = $1 AND id = $2',
  reportId: 'SELECT season_id FROM report WHERE conference_id = $1 AND id = $2',
  assignmentId: `SELECT g.season_id FROM observer_assignment a
                   JOIN game g ON g.conference_id = a.conference_id AND g.id = a.game_id
                  WHERE a.conference_id = $1 AND a.id = $2`,
  observationId: `SELECT r.season_id FROM observation o
                    JOIN report r ON r.conference_id = o.conference_id AND r.id = o.report_id
                   WHERE o.conference_id = $1 AND o.id = $2`,
  replyId: `SELECT r.season_id FROM reply y
              JOIN observation o ON o.conference_id = y.conference_id AND o.id = y.observation_id
              JOIN report r ON r.conference_id = o.conference_id AND r.id = o.report_id
             WHERE y.conference_id = $1 AND y.id = $2`,
  inquiryId: 'SELECT season_id FROM inquiry WHERE conference_id = $1 AND id = $2',
  letterId: 'SELECT season_id FROM letter WHERE conference_id = $1 AND id = $2',
  batchId: 'SELECT season_id FROM letter_batch WHERE conference_id = $1 AND id = $2',
  pointId: 'SELECT season_id FROM development_point WHERE conference_id = $1 AND id = $2',
  programId: 'SELECT season_id FROM training_program WHERE conference_id = $1 AND id = $2',
  setId: 'SELECT season_id FROM calibration_set WHERE conference_id = $1 AND id = $2',
  offerId: `SELECT n.season_id FROM selection_offer o
              JOIN selection n ON n.conference_id = o.conference_id AND n.id = o.selection_id
             WHERE o.conference_id = $1 AND o.id = $2`,
  quizId: 'SELECT season_id FROM quiz WHERE conference_id = $1 AND id = $2',
  clinicId: 'SELECT season_id FROM clinic WHERE conference_id = $1 AND id = $2',
  selectionId: 'SELECT season_id FROM selection WHERE conference_id = $1 AND id = $2',
} as const;
type Thing = { parameter: keyof typeof seasonOfThing; id: string };

const parameters = Object.keys(seasonOfThing) as Thing['parameter'][];

/** The thing that an address names and whose season is known, if it names one. */
export function thingIn(params: Readonly<Record<string, string | undefined>>): Thing | undefined {
  for (const parameter of parameters) {
    const id = params[parameter];
    if (id !== undefined) return { parameter, id };
  }
  return undefined;
}

/**
 * The season in view is the thing's, else the one chosen, else the current one.
 * @param thing its id must be a UUID.
 */
export async function readSeasonsShown(
  asking: Asking,
  conferenceId: string,
  chosen: string | null,
  thing?: Thing,
): Promise<SeasonsShown> {
  const { rows } = await asking.query<SeasonShown & { current: boolean; ofThing: boolean }>({
    name: `seasons shown ${thing?.parameter ?? ''}`,
    text: `SELECT s.id, s.name, s.state, s.id = c.current_season_id AS current,
                  ${thing ? `COALESCE(s.id = (${seasonOfThing[thing.parameter]}), false)` : 'false'} AS "ofThing"
             FROM season s JOIN conference c ON c.id = s.conference_id
            WHERE s.conference_id = $1 ORDER BY s.created_at DESC, s.name DESC`,
    values: [conferenceId, ...(thing ? [thing.id] : [])],
  });
  const shown = (row: (typeof rows)[number] | undefined): SeasonShown | null =>
    row ? { id: row.id, name: row.name, state: row.state } : null;
  const current = rows.find((row) => row.current);
  const followed = rows.find((row) => row.id === chosen) ?? current;
  const ofThing = rows.find((row) => row.ofThing);
  return {
    all: rows.map((row) => shown(row)!),
    current: shown(current),
    inView: shown(ofThing ?? followed),
    until: ofThing && ofThing !== followed ? shown(followed) : null,
  };
}
