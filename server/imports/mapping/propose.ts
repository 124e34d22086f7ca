import { factNames } from '../../football/fact-words.ts';
import { type Fact, facts } from '../../football/play.ts';
import { foldedHeading } from '../csv/headings.ts';
import { playsFormat } from '../files/plays.ts';
import { type ForeignFile, textsIn } from './foreign-file.ts';
import { folded, type Mapping, mappingSchema, type Source } from './mapping.ts';
import { sideAndLine } from './places-and-times.ts';
import { likelyTeam, sideMeant, type TeamsOfGame } from './sides-of-game.ts';

const spots: readonly Fact[] = ['spot', 'endSpot', 'kickTo', 'looseBallSpot'];

/** The plainest way to read a fact from a column: a person can choose another. */
export function plainSource(fact: Fact, column: string): Source {
  if (spots.includes(fact)) return { from: 'spot', column, as: 'count', values: {} };
  if (fact === 'clockSeconds') return { from: 'clock', column, as: 'left in the quarter', values: {} };
  if (fact === 'fouls') return { from: 'fouls', column, values: {}, outcomes: {} };
  return { from: 'column', column, values: {} };
}

/** What to begin with for a file that no kept mapping fits: only columns headed with our own words are proposed. */
export function firstMapping(file: ForeignFile): Mapping {
  const byHeading = new Map(file.columns.map((column) => [foldedHeading(column), column]));
  const mapping = mappingSchema.parse({});
  for (const fact of facts) {
    const column =
      byHeading.get(foldedHeading(playsFormat.columns[fact].heading)) ??
      byHeading.get(foldedHeading(factNames[fact]));
    if (column !== undefined) mapping.facts[fact] = [plainSource(fact, column)];
  }
  mapping.filmTime = byHeading.get(foldedHeading(playsFormat.columns.filmSeconds.heading));
  mapping.note = byHeading.get('note');
  return mapping;
}

/** Every text that the chosen columns use for a team or a side, as first written. */
export function sideTexts(file: ForeignFile, mapping: Mapping, rows = file.rows): string[] {
  const texts = new Map<string, string>();
  const add = (text: string) => {
    if (text !== '' && !texts.has(folded(text))) texts.set(folded(text), text);
  };
  const addAll = (column: string, sideOf = (text: string) => text) => {
    for (const { text } of textsIn(file, column, rows)) add(sideOf(text));
  };
  for (const [fact, sources] of Object.entries(mapping.facts)) {
    for (const source of sources ?? []) {
      if (fact === 'offense' && source.from === 'column') addAll(source.column);
      if (source.from === 'spot' && source.as === 'side and line') {
        const { side, column } = source;
        if (side !== undefined) addAll(side);
        else addAll(column, (text) => sideAndLine(text)?.side ?? '');
      }
      if (source.from === 'fouls' && source.by !== undefined) {
        addAll(source.by);
      }
    }
  }
  return [...texts.values()];
}

/** The mapping with teams proposed for texts that nobody has explained yet and that only one team's name begins with. */
export function withLikelyTeams(file: ForeignFile, mapping: Mapping, teams: TeamsOfGame): Mapping {
  const sides = { ...mapping.sides };
  for (const text of sideTexts(file, mapping)) {
    if (sideMeant(text, sides, teams) !== undefined) continue;
    const team = likelyTeam(text, teams);
    if (team !== undefined) sides[folded(text)] = team;
  }
  return { ...mapping, sides };
}
