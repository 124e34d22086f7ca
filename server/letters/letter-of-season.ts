import { quantileSorted } from 'simple-statistics';
import { effectOf } from '../duties/finding.ts';
import type { Position } from '../football/positions.ts';
import { gradeGame } from '../grading/game-grade.ts';
import { groupsOf } from '../grading/group-by.ts';
import { enoughPeersToShow } from '../patterns/evidence.ts';
import type { OfficialPattern } from '../patterns/official-patterns.ts';
import type { Strength } from '../patterns/official-strengths.ts';
import { situationCuts } from '../patterns/situation-cuts.ts';
import type { Trend } from '../patterns/trend.ts';
import { dutyCountOf } from '../results/standings/duty-count.ts';
import { type KindOfGrade, kindsOf } from '../results/standings/explained-grade.ts';
import { gradesOf } from '../results/standings/grades-of.ts';
import type { SeasonCount } from '../results/standings/season-counts.ts';
import type { StandingLine } from '../results/standings/season-standings.ts';
import { replyOf } from './answering.ts';
import { coverageSentence } from './coverage-sentence.ts';
import type { DevelopmentPoint, LetterData, LetterKind } from './letter-data.ts';
import { playLine } from './play-line.ts';
import type { LetterSeason } from './season-source.ts';
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
      low: standing?.adjusted?.low ?? null,
      high: standing?.adjusted?.high ?? null,
      level: 90,
      reliability: standing?.adjusted?.reliability ?? null,
      reason: standing?.adjusted
        ? null
        : sentence(
            grade.grade === null ? grade.reason : (season.standings.notes[0] ?? 'not enough games yet'),
          ),
      calls: kindFigures(kinds.calls),
      mechanics: kindFigures(kinds.mechanics),
    },
    standing: place(season.standings.lines, standing, position),
    strengths: strengths(season, personId, position),
    modelPlays: season.marks
      .filter((mark) => mark.personId === personId && mark.position === position && mark.finding === 'model')
      .slice(0, mostModelPlays)
      .map((mark) => ({ ...playLine(mark), duty: titleOf(season, mark.dutyKey) })),
    development: season.patterns.patterns
      .filter((one) => one.official === personId && one.position === position && one.headline)
      .map((pattern) => developmentPoint(season, pattern)),
    weeks,
    trend: trendOf(
      season.patterns.officialTrends.find((one) => one.official === personId && one.position === position)
        ?.trend,
    ),
    coverage: coverageSentence(season.shares, { personId, position }),
    reply: replyOf(occasion.replyBy, occasion.answerPage),
  };
}

const kindFigures = ({ raw, adjusted, reason }: KindOfGrade) => ({
  raw,
  adjusted: adjusted?.grade ?? null,
  low: adjusted?.low ?? null,
  high: adjusted?.high ?? null,
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

/** Misses that fall are grades that rise. Null where the games are too few to tell. */
function trendOf(trend: Trend | undefined): string | null {
  if (!trend || trend.method === 'too few') return null;
  const sure = 'by more than chance and a change of observers explain.';
  if (trend.direction === 'falling') return `Your grades rose over the weeks, ${sure}`;
  if (trend.direction === 'rising') return `Your grades fell over the weeks, ${sure}`;
  return 'Your grades show no clear trend over the weeks: they rose and fell as chance would have it.';
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
  return season.marks.filter(
    (mark) =>
      mark.personId === official &&
      mark.position === position &&
      mark.dutyKey === duty &&
      (!cut || cut.decide(mark.play) === true),
  );
}

function strengths(season: LetterSeason, personId: string, position: Position): LetterData['strengths'] {
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
        .map(playLine),
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

function developmentPoint(season: LetterSeason, pattern: OfficialPattern): DevelopmentPoint {
  const missed = marksOf(season, pattern).filter(({ finding }) => effectOf(finding) === 'not met');
  const raised = season.raised.find(
    (one) =>
      one.personId === pattern.official &&
      one.position === pattern.position &&
      one.dutyKey === pattern.duty &&
      (one.situationCut === '' || one.situationCut === (pattern.situationCut ?? '')),
  );
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
    raisedBefore: raised ? sinceRaised(raised) : null,
    byGame: groupsOf(pattern.weeks, ({ week }) => String(week)).map((games) => ({
      label: `Week ${games[0]!.week}`,
      opportunities: games.reduce((sum, game) => sum + game.opportunities, 0),
      misses: games.reduce((sum, game) => sum + game.misses, 0),
    })),
    plays: missed.map(playLine),
  };
}
