import { fullName, readPeople } from '../accounts/people-names.ts';
import type { Database } from '../database/database.ts';
import type { Season } from '../database/generated/client.ts';
import { exampleFor } from '../duties/applicability.ts';
import type { Duty } from '../duties/duty.ts';
import { dutySentence } from '../duties/duty-sentence.ts';
import type { Play } from '../football/play.ts';
import { usualPractices } from '../football/practices.ts';
import { readSeasonLog } from '../games/season-log.ts';
import type { Calculator } from '../results/calculator.ts';
import { readClipRows } from '../results/standings/clip-rows.ts';
import { readLastSeason } from '../results/standings/grading-rows.ts';
import { readReportCounts, readSeasonCounts } from '../results/standings/season-counts.ts';
import { type MovedStanding, standingsWithWeight } from '../results/standings/weight-change.ts';
import { readRubric } from '../rubric/read-rubric.ts';
import { type DutyPreview, previewDuty } from './duty-preview.ts';

type Named<T> = T & { readonly name: string };

export interface SeasonPreview extends Omit<DutyPreview, 'byPosition'> {
  readonly sentence: string;
  /** None for a duty of the whole game. */
  readonly example: Play | undefined;
  readonly byPosition: (Omit<DutyPreview['byPosition'][number], 'officials'> & {
    readonly officials: Named<DutyPreview['byPosition'][number]['officials'][number]>[];
  })[];
  /** Only when a duty's weight changes. */
  readonly standings: Named<MovedStanding>[];
}

/** What a duty would have done on the season so far. Changes nothing. */
export async function previewOnSeason(
  database: Database,
  calculator: Pick<Calculator, 'grade'>,
  season: Season,
  before: Duty | undefined,
  after: Duty,
): Promise<SeasonPreview> {
  const { pool } = database;
  const { conferenceId } = season;
  const people = await readPeople(database, conferenceId);
  const named = <T extends { personId: string }>(row: T): Named<T> => {
    const person = people.get(row.personId);
    return { ...row, name: person === undefined ? 'somebody' : fullName(person) };
  };
  const rubric = await readRubric(pool, conferenceId, season.id);
  const preview = await previewDuty(
    readSeasonLog(pool, conferenceId, season.id),
    before,
    after,
    rubric?.practices ?? usualPractices,
  );
  const standings =
    before === undefined || before.weight === after.weight
      ? []
      : await standingsWithWeight(
          calculator,
          {
            reports: await readReportCounts(pool, conferenceId, season.id),
            games: await readSeasonCounts(pool, conferenceId, season.id),
          },
          after.key,
          after.weight,
          {
            minimumGames: season.minimumGames,
            minimumOpportunities: season.minimumOpportunities,
            places: season.postseasonPlaces,
          },
          {
            clips: await readClipRows(pool, conferenceId, season.id),
            lastSeason: await readLastSeason(pool, conferenceId, season.id),
          },
        );
  return {
    ...preview,
    sentence: dutySentence(after),
    example: after.per === 'game' ? undefined : exampleFor(after),
    byPosition: preview.byPosition.map((row) => ({ ...row, officials: row.officials.map(named) })),
    standings: standings.map(named),
  };
}
