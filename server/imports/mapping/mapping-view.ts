import { factNames } from '../../football/fact-words.ts';
import { foulOutcomes } from '../../football/fouls.ts';
import { usualFouls } from '../../football/usual-fouls.ts';
import { type PlayField, playFields, sections } from '../../reports/entry/play-fields.ts';
import { capital } from '../../web/format.ts';
import { type ForeignFile, samplesOf, textsIn } from './foreign-file.ts';
import { isLeftOut } from './map-plays.ts';
import {
  clockForms,
  folded,
  type Mapping,
  meantBy,
  type RowRule,
  type Source,
  spotForms,
} from './mapping.ts';
import { emptyText, mostRules, mostSources, unknown } from './mapping-form.ts';
import { filmSecondsOf, isSpotText, secondsOf, wholeNumber } from './places-and-times.ts';
import { sideTexts } from './propose.ts';
import { goalToGo, ownReading } from './read-fact.ts';
import { sideMeant, type TeamsOfGame } from './sides-of-game.ts';

/** More texts than these are not asked about one by one: such a column holds no choice. */
const mostTexts = 60;

interface Option {
  readonly value: string;
  readonly name: string;
  readonly chosen: boolean;
}
const option = (value: string, name: string, now: string): Option => ({ value, name, chosen: value === now });
const options = (values: readonly string[], now: string): Option[] =>
  values.map((value) => option(value, value, now));
const named = (names: Readonly<Record<string, string>>, now: string): Option[] =>
  Object.entries(names).map(([value, name]) => option(value, capital(name), now));

const titles = { start: 'When, where and who', result: 'What came of it' } as const;

/** A file and a mapping as the page shows them: every fact with where it comes from and what texts mean. */
export function mappingView(file: ForeignFile, mapping: Mapping, teams: TeamsOfGame | undefined) {
  // Without a game there is no real file either: its rows are only lists of texts.
  const rows = file.rows.filter((row) => {
    if (!teams) return true;
    try {
      return !isLeftOut(file, row, mapping.rows);
    } catch {
      return true;
    }
  });
  const seen: ForeignFile = { columns: file.columns, rows };
  const at = (column: string | undefined) => (column === undefined ? -1 : file.columns.indexOf(column));
  const columnOptions = (now: string | undefined): Option[] =>
    file.columns.map((name, place) => option(String(place), name, String(at(now))));

  const groups = (['start', 'result', ...sections] as const).map((group) => {
    const fields = playFields.filter((field) => field.group === group);
    const facts = fields.map((field) => factView(field, seen, mapping, columnOptions));
    return {
      title: group === 'start' || group === 'result' ? titles[group] : group,
      open: group === 'start' || facts.some(({ told }) => told),
      told: facts.filter(({ told }) => told).length,
      facts,
    };
  });
  const usedFor = new Map<string, string[]>();
  for (const group of groups) {
    for (const { label, columns } of group.facts) {
      for (const column of columns) usedFor.set(column, [...(usedFor.get(column) ?? []), label]);
    }
  }
  return {
    headings: mapping.headings,
    columns: file.columns.map((name) => ({
      name,
      samples: samplesOf(file, name),
      usedFor: (usedFor.get(name) ?? []).join(', '),
    })),
    groups,
    order: [
      option('file', 'as in the file', mapping.order.by),
      option('file from the end', 'from the end of the file to its beginning', mapping.order.by),
      option('column', 'by the number in this column:', mapping.order.by),
    ],
    orderColumns: columnOptions(mapping.order.column),
    filmTime: columnOptions(mapping.filmTime),
    filmTexts: unreadable(seen, mapping.filmTime, (text) => filmSecondsOf(text) !== undefined),
    note: columnOptions(mapping.note),
    rules: rulesView(file, mapping.rows, columnOptions),
    sides: sideTexts(seen, mapping).map((text) => sideView(text, mapping, teams)),
    readsOffense: mapping.facts.offense?.some(({ from }) => from === 'column') ?? false,
    freeKicksNameReceiver: mapping.freeKicksNameReceiver,
  };
}

type Columns = (now: string | undefined) => Option[];

function factView(field: PlayField, file: ForeignFile, mapping: Mapping, columnOptions: Columns) {
  const { fact } = field;
  const sources = mapping.facts[fact] ?? [];
  const slots: (Source | undefined)[] = [...sources];
  if (slots.length < mostSources) slots.push(undefined);
  return {
    fact,
    label: capital(factNames[fact]),
    needed: fact === 'kind' || fact === 'spot',
    told: sources.length > 0,
    columns: sources.flatMap((source) => ('column' in source ? [source.column] : [])),
    sources: slots.map((source, number) => ({
      name: `f:${fact}:${number}`,
      id: `f-${fact}-${number}`,
      label: capital(factNames[fact]),
      first: number === 0,
      from: columnOptions(source && 'column' in source ? source.column : undefined),
      fixed: fixedOptions(field, source, number),
      ...(source ? sourceView(field, source, file, columnOptions) : {}),
    })),
  };
}

/** What can be said of every play alike. */
function fixedOptions(field: PlayField, source: Source | undefined, number: number): Option[] {
  const now = source?.from === 'fixed' ? source.value : undefined;
  const words = wordsOf(field);
  const other = now !== undefined && !words.includes(now) ? [now] : [];
  return [
    ...(field.fact === 'spot' && number > 0
      ? [option('usual', 'the usual spot of a kickoff or a try', source?.from ?? '')]
      : []),
    ...[...words, ...other].map((word) => option(`=${word}`, `always: ${word}`, `=${now ?? ''}`)),
  ];
}

function sourceView(field: PlayField, source: Source, file: ForeignFile, columnOptions: Columns) {
  const { fact } = field;
  switch (source.from) {
    case 'fixed':
    case 'usual':
      return {};
    case 'spot':
    case 'gained': {
      const forms = fact === 'endSpot' ? { ...spotForms, gained: 'yards gained, from the spot' } : spotForms;
      const as = source.from === 'gained' ? 'gained' : source.as;
      const readable = (text: string) =>
        source.from === 'gained'
          ? wholeNumber(text) !== undefined
          : isSpotText(source.as, text, source.side !== undefined);
      return {
        as: named(forms, as),
        side: as === 'side and line',
        sides: source.from === 'spot' ? columnOptions(source.side) : [],
        texts: unreadable(file, source.column, readable).map((one) => textView(field, source, one, file)),
      };
    }
    case 'clock':
      return {
        as: named(clockForms, source.as),
        texts: unreadable(file, source.column, (text) => secondsOf(text) !== undefined).map((one) =>
          textView(field, source, one, file),
        ),
      };
    case 'fouls':
      return {
        fouls: true,
        by: columnOptions(source.by),
        outcome: columnOptions(source.outcome),
        ...listed(textsIn(file, source.column), (one) => textView(field, source, one, file)),
        outcomes:
          source.outcome === undefined
            ? []
            : textsIn(file, source.outcome)
                .filter(({ text }) => text !== '')
                .slice(0, mostTexts)
                .map(({ text, count }) => ({
                  text,
                  count,
                  name: `o:${file.columns.indexOf(source.outcome!)}:${folded(text)}`,
                  meanings: meanings(foulOutcomes, meantBy(source.outcomes, text)),
                  reads: foulOutcomes.includes(folded(text) as never) ? folded(text) : undefined,
                })),
      };
    case 'column': {
      // Teams are explained once for all columns.
      if (fact === 'offense') return {};
      const isNumber = field.control === 'number';
      const texts = textsIn(file, source.column).filter(
        ({ text }) => !isNumber || (text !== '' && ownReading(fact, text) === undefined),
      );
      return listed(texts, (one) => textView(field, source, one, file));
    }
  }
}

function listed<One, View>(texts: readonly One[], view: (one: One) => View) {
  return { texts: texts.slice(0, mostTexts).map(view), more: Math.max(0, texts.length - mostTexts) };
}

function unreadable(file: ForeignFile, column: string | undefined, readable: (text: string) => boolean) {
  if (column === undefined) return [];
  return textsIn(file, column)
    .filter(({ text }) => text !== '' && !readable(text))
    .slice(0, mostTexts);
}

/** The words that a fact can be said by; none where it is a number or a text. */
function wordsOf({ fact, control, options: words = [] }: PlayField): readonly string[] {
  if (control === 'yes-no') return ['yes', 'no'];
  if (control === 'choice') return words;
  if (fact === 'fouls') return ['none'];
  return [];
}

const meanings = (words: readonly string[], said: string | undefined): Option[] => [
  option(unknown, 'unknown', said === '' ? unknown : (said ?? '')),
  ...options(words, said ?? ''),
];

function textView(
  field: PlayField,
  source: Source & { column: string; values: Readonly<Record<string, string>> },
  { text, count }: { text: string; count: number },
  file: ForeignFile,
) {
  const said = meantBy(source.values, text);
  const words =
    field.fact === 'fouls'
      ? ['none', 'as written', ...new Set(usualFouls.map(({ foul }) => foul))]
      : field.fact === 'distance'
        ? [goalToGo]
        : field.fact === 'quarter'
          ? ['5', '6', '7', '8']
          : wordsOf(field);
  const own = text === '' ? undefined : ownReading(field.fact, text);
  const reads =
    source.from !== 'column' && source.from !== 'fouls'
      ? undefined
      : own === undefined
        ? undefined
        : typeof own === 'boolean'
          ? own
            ? 'yes'
            : 'no'
          : Array.isArray(own)
            ? 'as plays.csv'
            : String(own);
  return {
    text: text === '' ? emptyText : text,
    count,
    name: `v:${field.fact}:${file.columns.indexOf(source.column)}:${folded(text)}`,
    meanings: meanings(words, said),
    /** What it means while nobody says otherwise. */
    reads: reads ?? (text === '' ? unknown : undefined),
    open: said === undefined && reads === undefined && text !== '',
  };
}

function rulesView(file: ForeignFile, rules: readonly RowRule[], columnOptions: Columns) {
  const slots: (RowRule | undefined)[] = [...rules];
  if (slots.length < mostRules) slots.push(undefined);
  return slots.map((rule, number) => {
    const texts = rule === undefined ? [] : textsIn(file, rule.column);
    return {
      name: `r:${number}`,
      id: `r-${number}`,
      columns: columnOptions(rule?.column),
      chosen: rule !== undefined,
      rule: [
        option('leave out', 'leave out rows where it is', rule?.rule ?? 'leave out'),
        option('only', 'take only rows where it is', rule?.rule ?? 'leave out'),
      ],
      texts: texts.slice(0, mostTexts).map(({ text, count }) => ({
        text: text === '' ? emptyText : text,
        count,
        ticked: rule?.texts.includes(folded(text)) ?? false,
      })),
      more: Math.max(0, texts.length - mostTexts),
    };
  });
}

function sideView(text: string, mapping: Mapping, teams: TeamsOfGame | undefined) {
  const said = meantBy(mapping.sides, text);
  const now = said === '' ? unknown : (said ?? '');
  const own = teams && said === undefined ? sideMeant(text, {}, teams) : undefined;
  const known = new Set<string>([teams?.home.id ?? '', teams?.visitor.id ?? '']);
  const isTeam = now.length === 36;
  return {
    text,
    name: `s:${folded(text)}`,
    meanings: [
      ...(teams
        ? [
            option(teams.home.id, `${teams.home.name} (home here)`, now),
            option(teams.visitor.id, `${teams.visitor.name} (visitor here)`, now),
          ]
        : []),
      ...(isTeam && !known.has(now)
        ? [option(now, teams ? 'a team of another game' : 'a team by its name', now)]
        : []),
      option('home', 'the home team, in every game', now),
      option('visitor', 'the visiting team, in every game', now),
      option('offense', 'the team with the ball', now),
      option('defense', 'the other team', now),
      option(unknown, 'unknown', now),
    ],
    reads: own === 'home' || own === 'visitor' ? teams?.[own].name : own,
    open: said === undefined && own === undefined,
  };
}
