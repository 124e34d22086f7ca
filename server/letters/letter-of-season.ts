import { quantileSorted } from 'simple-statistics';
import { consequenceRank } from '../duties/consequence.ts';
import { effectOf } from '../duties/finding.ts';
import type { Position } from '../football/positions.ts';
import { knownInterval } from '../grading/adjusted-grade.ts';
import { gradeGame } from '../grading/game-grade.ts';
import { groupBy, groupsOf } from '../grading/group-by.ts';
import { enoughPeersToShow } from '../patterns/evidence.ts';
import type { OfficialPattern } from '../patterns/official-patterns.ts';
import type { Strength } from '../patterns/official-strengths.ts';
import { situationCuts } from '../patterns/situation-cuts.ts';
import { onceForEach } from '../results/once-for-each.ts';
import { gradeTrendInWords } from '../results/patterns/grade-trend.ts';
import { callTally, mechanicsTally } from '../results/standings/call-tally.ts';
import {
  type DutyThatMatters,
  dutiesToWorkOn,
  dutiesWentWell,
  type OfficialsSeason,
} from '../results/standings/duties-that-matter.ts';
import { dutyCountOf } from '../results/standings/duty-count.ts';
import { type KindOfGrade, kindsOf } from '../results/standings/explained-grade.ts';
import { gradesOf } from '../results/standings/grades-of.ts';
import type { SeasonCount } from '../results/standings/season-counts.ts';
import type { StandingLine } from '../results/standings/season-standings.ts';
import { missedPlaysPage, replyOf } from './answering.ts';
import { coverageSentence } from './coverage-sentence.ts';
import type { DevelopmentPoint, LetterData, LetterKind, ToWorkOn } from './letter-data.ts';
import { playLine } from './play-line.ts';
import type { LetterSeason, SeasonMark } from './season-source.ts';
import { sinceRaised } from './since-raised.ts';

/** What a letter says that isn't in the season's figures. Dates YYYY-MM-DD. */
export interface LetterOccasion {
  kind: LetterKind;
  issuedOn: string;
  /** Null: no answers are taken. */
  replyBy: string | null;
  /** Address of the page where one answers. */
  answerPage: string;
  coordinator: string;
}

/** Peers' grades are summed up only when there are this many, so that no single one shows through. */
const fewestPeers = 5;

const mostModelPlays = 6;
const mostMissedPlays = 6;
const mostStrengths = 3;
const mostPlaysOfStrength = 3;

/** Everyone with a released report, in the position they worked most; family names in order. */
export function officialsOf({ counts, people }: LetterSeason): { personId: string; position: Position }[] {
  return [...counts]
    .map(([personId, own]) => ({ personId, position: mainPosition(own) }))
    .sort((a, b) => compareText(people.get(a.personId)?.name ?? '', people.get(b.personId)?.name ?? ''));
}

const compareText = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);

function mainPosition(own: readonly SeasonCount[]): Position {
  const byPosition = groupsOf(own, (row) => row.position).map((rows) => ({
    position: rows[0]!.position,
    opportunities: rows.reduce((sum, row) => sum + row.opportunities, 0),
  }));
  return byPosition.sort(
    (a, b) => b.opportunities - a.opportunities || compareText(a.position, b.position),
  )[0]!.position;
}

/** The data of one official's letter: everything in it is a figure of the season or the coordinator's words. */
export function letterOfSeason(
  season: LetterSeason,
  personId: string,
  occasion: LetterOccasion,
  about: Position | null = null,
): LetterData {
  const all = season.counts.get(personId) ?? [];
  const position = about ?? (all.length > 0 ? mainPosition(all) : anyPosition(season, personId));
  const own = all.filter((row) => row.position === position);
  const standing = season.standings.lines.find(
    (one) => one.personId === personId && one.position === position,
  );
  const grades = gradesOf(own);
  const grade = grades.whole;
  const kinds = kindsOf(grades, season.standingsByKind, { personId, position });
  const weeks = weeksOf(season, own);
  const its: OfficialsSeason = {
    personId,
    position,
    own,
    grade,
    patterns: season.patterns,
    duties: season.duties,
    totals: season.totals,
  };
  const missed = missedBy(season, its).map(({ finding }) => finding);
  const { lastSeason } = season.standings;
  return {
    kind: occasion.kind,
    edition: 1,
    changes: [],
    issuedOn: occasion.issuedOn,
    conference: {
      name: season.conference.name,
      coordinator: occasion.coordinator,
      policy: season.conference.policyText.trim() || null,
    },
    season: {
      name: season.season.name,
      throughWeek: season.season.throughWeek,
      weeks: season.season.weeks,
    },
    official: {
      name: season.people.get(personId)?.name ?? 'Unknown',
      position,
      crew: season.crews.get(personId) ?? null,
    },
    otherPositions: otherPositions(all, position),
    totals: {
      games: new Set(own.map((row) => row.gameId)).size,
      opportunities: grade.opportunities,
      met: grade.met,
      misses: grade.opportunities - grade.met,
      observers: new Set(own.flatMap((row) => row.observerIds)).size,
      model: own.reduce((sum, row) => sum + row.model, 0),
    },
    grade: {
      raw: grade.grade,
      adjusted: standing?.adjusted?.grade ?? null,
      ...rangeOf(standing?.adjusted),
      level: 90,
      reliability: standing?.adjusted?.reliability ?? null,
      reason: standing?.adjusted
        ? null
        : sentence(
            grade.grade === null ? grade.reason : (season.standings.notes[0] ?? 'not enough games yet'),
          ),
      seasonBefore: lastSeason?.reason === null ? lastSeason.name : null,
      calls: kindFigures(kinds.calls),
      mechanics: kindFigures(kinds.mechanics),
    },
    standing: place(season.standings.lines, standing, position),
    strengths: strengths(season, its, occasion.answerPage),
    modelPlays: marksOfOfficial(season, its)
      .filter((mark) => mark.finding === 'model')
      .slice(0, mostModelPlays)
      .map((mark) => ({ ...playLine(mark, occasion.answerPage), duty: titleOf(season, mark.dutyKey) })),
    development: season.patterns.patterns
      .filter((one) => one.official === personId && one.position === position && one.headline)
      .map((pattern) => developmentPoint(season, pattern, occasion.answerPage)),
    toWorkOn: dutiesToWorkOn(its).map((duty) => toWorkOn(season, its, duty, occasion.answerPage)),
    wentWell: dutiesWentWell(its).map(wentWell),
    calls: callTally(own, missed),
    mechanics: mechanicsTally(own),
    weeks,
    trend: gradeTrendInWords(
      season.patterns.officialTrends.find((one) => one.official === personId && one.position === position)
        ?.trend,
      'your',
    ),
    coverage: coverageSentence(season.shares, { personId, position }),
    rules: [...(season.rules.get(personId) ?? [])],
    reply: replyOf(occasion.replyBy, occasion.answerPage),
  };
}

const rangeOf = (adjusted: StandingLine['adjusted'] | undefined) =>
  knownInterval(adjusted) ?? { low: null, high: null };

const kindFigures = ({ raw, adjusted, reason }: KindOfGrade) => ({
  raw,
  adjusted: adjusted?.grade ?? null,
  ...rangeOf(adjusted),
  reason: reason === null ? null : sentence(reason),
});

function anyPosition(season: LetterSeason, personId: string): Position {
  const mark = season.marks.find((one) => one.personId === personId);
  return mark?.position ?? 'referee';
}

function otherPositions(all: readonly SeasonCount[], main: Position): LetterData['otherPositions'] {
  return groupsOf(
    all.filter((row) => row.position !== main),
    (row) => row.position,
  ).map((rows) => ({
    position: rows[0]!.position,
    games: new Set(rows.map((row) => row.gameId)).size,
    raw: gradeGame(rows.map(dutyCountOf)).grade,
  }));
}

/** Every week up to the last released one; an official's games of one week are graded together. */
function weeksOf({ season }: LetterSeason, own: readonly SeasonCount[]): LetterData['weeks'] {
  if (own.length === 0) return [];
  return Array.from({ length: season.throughWeek ?? 0 }, (_, index) => {
    const rows = own.filter((row) => row.week === index + 1);
    const grade = gradeGame(rows.map(dutyCountOf));
    return { week: index + 1, grade: grade.grade, opportunities: grade.opportunities, game: null };
  });
}

function place(
  standings: readonly StandingLine[],
  own: StandingLine | undefined,
  position: Position,
): LetterData['standing'] {
  const ranked = standings.filter(
    (one) => one.position === position && one.rank !== null && (!own || one.group === own.group),
  );
  const grades = ranked.flatMap(({ adjusted }) => (adjusted ? [adjusted.grade] : [])).sort((a, b) => a - b);
  const enough = grades.length >= fewestPeers;
  return {
    ranked: ranked.length,
    median: own?.rank?.median ?? null,
    best: own?.rank?.low ?? null,
    worst: own?.rank?.high ?? null,
    lowerQuartile: enough ? quantileSorted(grades, 0.25) : null,
    middle: enough ? quantileSorted(grades, 0.5) : null,
    upperQuartile: enough ? quantileSorted(grades, 0.75) : null,
    reason: own?.rank ? null : sentence(own?.unrankedReason ?? 'no graded game yet'),
  };
}

const sentence = (text: string): string => (/[.!?]$/.test(text) ? text : `${text}.`);

const titleOf = (season: LetterSeason, key: string): string => season.duties.get(key)?.title ?? key;

function titleWithCut(season: LetterSeason, { duty, situationCut }: OfficialPattern | Strength): string {
  const title = titleOf(season, duty);
  return situationCut === null ? title : `${title}, ${situationCut}`;
}

/** The official's marks of a duty, and within a cut only those on its plays. */
function marksOf(
  season: LetterSeason,
  { official, position, duty, situationCut }: OfficialPattern | Strength,
) {
  const cut = situationCuts.find(({ key }) => key === situationCut);
  return marksOfOfficial(season, { personId: official, position }).filter(
    (mark) => mark.dutyKey === duty && (!cut || cut.decide(mark.play) === true),
  );
}

type Official = { personId: string; position: string };
const keyOf = ({ personId, position }: Official) => `${personId} ${position}`;
const marksByOfficial = onceForEach((marks: LetterSeason['marks']) => groupBy(marks, keyOf));

/** An official's marks in the position. Sorted out once for a season: each of its letters asks many times. */
const marksOfOfficial = ({ marks }: LetterSeason, of: Official): readonly SeasonMark[] =>
  marksByOfficial(marks).get(keyOf(of)) ?? [];

function strengths(
  season: LetterSeason,
  { personId, position }: OfficialsSeason,
  answerPage: string,
): LetterData['strengths'] {
  const seen = new Set<string>();
  return season.patterns.strengths
    .filter((one) => one.official === personId && one.position === position)
    .filter(({ duty }) => !seen.has(duty) && seen.add(duty))
    .slice(0, mostStrengths)
    .map((strength) => ({
      duty: titleWithCut(season, strength),
      met: strength.opportunities - strength.misses,
      opportunities: strength.opportunities,
      rate: 1 - strength.missRate,
      peersRate: metByPeers(strength),
      plays: marksOf(season, strength)
        .filter(({ finding }) => effectOf(finding) === 'met')
        .slice(0, mostPlaysOfStrength)
        .map((mark) => playLine(mark, answerPage)),
    }));
}

/** Miss rate of peers; null where there are none, or so few that it would be one known colleague's. */
function missedByPeers(row: OfficialPattern | Strength): number | null {
  const { events, opportunities } = row.peers;
  return opportunities > 0 && enoughPeersToShow(row) ? events / opportunities : null;
}

function metByPeers(row: Strength): number | null {
  const missed = missedByPeers(row);
  return missed === null ? null : 1 - missed;
}

function developmentPoint(
  season: LetterSeason,
  pattern: OfficialPattern,
  answerPage: string,
): DevelopmentPoint {
  const missed = marksOf(season, pattern).filter(({ finding }) => effectOf(finding) === 'not met');
  return {
    duty: titleWithCut(season, pattern),
    category: season.duties.get(pattern.duty)?.category ?? '',
    misses: pattern.misses,
    opportunities: pattern.opportunities,
    rate: pattern.missRate,
    low: pattern.interval.low,
    high: pattern.interval.high,
    peersRate: missedByPeers(pattern),
    games: pattern.gamesWithMisses,
    guidance: season.duties.get(pattern.duty)?.guidance.trim() || null,
    raisedBefore: raisedBefore(season, {
      personId: pattern.official,
      position: pattern.position,
      dutyKey: pattern.duty,
      situationCut: pattern.situationCut ?? '',
    }),
    byGame: groupsOf(pattern.weeks, ({ week }) => String(week)).map((games) => ({
      label: `Week ${games[0]!.week}`,
      opportunities: games.reduce((sum, game) => sum + game.opportunities, 0),
      misses: games.reduce((sum, game) => sum + game.misses, 0),
    })),
    plays: missed.map((mark) => playLine(mark, answerPage)),
  };
}

/** What was said of a duty earlier, of the whole of it or of the situation, and what changed since. */
function raisedBefore(
  season: LetterSeason,
  of: { personId: string; position: string; dutyKey: string; situationCut: string | null },
): string | null {
  const raised = season.raised.find(
    (one) =>
      one.personId === of.personId &&
      one.position === of.position &&
      one.dutyKey === of.dutyKey &&
      (of.situationCut === null || one.situationCut === '' || one.situationCut === of.situationCut),
  );
  return raised ? sinceRaised(raised) : null;
}

/** The official's missed chances in the position, each once, in the order of the season. */
const missedBy = (season: LetterSeason, its: OfficialsSeason) =>
  marksOfOfficial(season, its).filter(({ finding }) => effectOf(finding) === 'not met');

function toWorkOn(
  season: LetterSeason,
  its: OfficialsSeason,
  duty: DutyThatMatters,
  answerPage: string,
): ToWorkOn {
  const { personId, position } = its;
  const missed = missedBy(season, its).filter(({ dutyKey }) => dutyKey === duty.key);
  const plays = playsThatTeach(missed);
  return {
    duty: duty.title,
    category: duty.category,
    certainty: duty.certainty,
    situation: duty.situation,
    misses: duty.misses,
    opportunities: duty.opportunities,
    rate: duty.missRate,
    low: duty.interval.low,
    high: duty.interval.high,
    peersRate: duty.peersMissRate,
    games: duty.gamesWithMisses,
    pointsLost: duty.pointsLost,
    guidance: duty.guidance || null,
    raisedBefore: raisedBefore(season, { personId, position, dutyKey: duty.key, situationCut: null }),
    byGame: duty.weeks.map(({ week, ...counts }) => ({ label: `Week ${week}`, ...counts })),
    plays: plays.map((mark) => playLine(mark, answerPage)),
    morePlays: missed.length - plays.length,
    playsUrl: missedPlaysPage(answerPage, { position, dutyKey: duty.key }),
  };
}

/** Those that cost most, were written about and can be seen on film; of like ones the latest. In the order of the season. */
function playsThatTeach(missed: readonly SeasonMark[]): SeasonMark[] {
  const worth = ({ consequence, comment, filmSeconds }: SeasonMark) =>
    4 * consequenceRank(consequence) + (comment === '' ? 0 : 2) + (filmSeconds === null ? 0 : 1);
  const best = new Set(
    [...missed]
      .reverse()
      .sort((a, b) => worth(b) - worth(a))
      .slice(0, mostMissedPlays),
  );
  return missed.filter((mark) => best.has(mark));
}

const wentWell = (duty: DutyThatMatters): LetterData['wentWell'][number] => ({
  duty: duty.title,
  certainty: duty.certainty,
  situation: duty.situation,
  met: duty.opportunities - duty.misses,
  opportunities: duty.opportunities,
  rate: 1 - duty.missRate,
  peersRate: duty.peersMissRate === null ? null : 1 - duty.peersMissRate,
});
