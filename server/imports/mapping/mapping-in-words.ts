import { factNames } from '../../football/fact-words.ts';
import { facts } from '../../football/play.ts';
import type { ForeignFile } from './foreign-file.ts';
import type { Mapping, Source } from './mapping.ts';

/** A mapping in a few words, for the list: `kind of play from “What”; quarter from “Q”`. */
export function mappingInWords(mapping: Mapping): string {
  const parts = facts.flatMap((fact) => {
    const sources = mapping.facts[fact];
    return sources === undefined ? [] : [`${factNames[fact]} ${sources.map(sourceInWords).join(', else ')}`];
  });
  for (const { column, rule } of mapping.rows) {
    parts.push(rule === 'only' ? `only rows by “${column}”` : `rows left out by “${column}”`);
  }
  return parts.join('; ');
}

function sourceInWords(source: Source): string {
  if (source.from === 'fixed') return `always ${source.value}`;
  if (source.from === 'usual') return 'at its usual spot';
  const side = source.from === 'spot' && source.side !== undefined ? ` and “${source.side}”` : '';
  return `from “${source.column}”${side}`;
}

/**
 * A file that holds every text which a mapping speaks of, each once: so what is kept can be looked at and changed
 * without a file at hand.
 */
export function fileOfMapping(columns: readonly string[], mapping: Mapping): ForeignFile {
  const texts = new Map<string, Set<string>>();
  const add = (column: string, said: Iterable<string>) => {
    const there = texts.get(column) ?? new Set();
    for (const text of said) there.add(text);
    texts.set(column, there);
  };
  const sides = Object.keys(mapping.sides);
  for (const [fact, sources] of Object.entries(mapping.facts)) {
    for (const source of sources ?? []) {
      if ('values' in source) add(source.column, Object.keys(source.values));
      if (fact === 'offense' && source.from === 'column') add(source.column, sides);
      if (source.from === 'spot' && source.as === 'side and line') {
        add(
          source.side ?? source.column,
          source.side === undefined ? sides.map((side) => `${side} 1`) : sides,
        );
      }
      if (source.from === 'fouls') {
        if (source.by !== undefined) add(source.by, sides);
        if (source.outcome !== undefined) add(source.outcome, Object.keys(source.outcomes));
      }
    }
  }
  for (const rule of mapping.rows) add(rule.column, rule.texts);
  const length = Math.max(0, ...[...texts.values()].map(({ size }) => size));
  const lists = columns.map((column) => [...(texts.get(column) ?? [])]);
  const rows = Array.from({ length }, (_, at) => ({
    line: at + 1,
    cells: lists.map((list) => list[at] ?? ''),
  }));
  return { columns, rows };
}
