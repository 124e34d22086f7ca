import { parseTemplate } from './template.ts';
import type { TemplateProblem } from './template-problem.ts';

/** A part of a template's text, by offsets: from the first character to behind the last. */
export interface Range {
  start: number;
  end: number;
}

interface Brace extends Range {
  /** As written, braces and all. */
  text: string;
  /** Whether it ends with its braces. */
  isWhole: boolean;
  kind: 'opens' | 'closes' | 'else' | 'value' | 'comment';
  /** Of a block: the word it begins or ends with. */
  word: string;
}

/**
 * Every brace of a template that cannot be read, each where it stands, and the template without them: a parser stops at
 * the first, and tells of a block that is not closed only at the template's end. What is left can be parsed and checked
 * further; its lines are the same.
 */
export function mendBraces(source: string): { problems: TemplateProblem[]; mended: string } {
  const problems: TemplateProblem[] = [];
  const edits: (Range & { text: string })[] = [];
  const blank = ({ start, end }: Range) => edits.push({ start, end, text: blanks(source.slice(start, end)) });
  const close = (at: number, word: string) => edits.push({ start: at, end: at, text: `{{/${word}}}` });
  const report = (at: Range, message: string) => problems.push({ ...placeOf(source, at.start), message });
  const open: { brace: Brace; isSound: boolean }[] = [];
  const endUnclosed = ({ brace, isSound }: (typeof open)[number], at: number) => {
    if (!isSound) return;
    report(brace, `“${shortened(brace.text)}” isn’t closed: it needs a {{/${brace.word}}}.`);
    close(at, brace.word);
  };
  for (const brace of bracesOf(source)) {
    const isSound = brace.isWhole && (brace.kind === 'closes' || parses(wholeOf(brace)));
    if (!isSound) {
      const wrong = brace.isWhole ? 'can’t be read' : 'isn’t closed with }}';
      report(brace, `“${shortened(brace.text)}” ${wrong}.`);
      blank(brace);
    }
    if (brace.kind === 'opens') open.push({ brace, isSound });
    if (brace.kind === 'else' && isSound && !open.at(-1)?.isSound) {
      blank(brace);
      if (open.length === 0) report(brace, `“${shortened(brace.text)}” stands in no block.`);
    }
    if (brace.kind !== 'closes') continue;
    const at = open.findLastIndex((one) => one.brace.word === brace.word);
    if (at >= 0) {
      for (const inner of open.splice(at + 1).reverse()) endUnclosed(inner, brace.start);
      if (!open.pop()!.isSound) blank(brace);
      continue;
    }
    blank(brace);
    const last = open.pop();
    if (!last) report(brace, `“${brace.text}” closes nothing.`);
    else {
      const { line } = placeOf(source, last.brace.start);
      report(brace, `“${brace.text}” doesn't match “${shortened(last.brace.text)}” on line ${line}.`);
      if (last.isSound) close(brace.end, last.brace.word);
    }
  }
  for (const one of open.reverse()) endUnclosed(one, source.length);
  return { problems, mended: edited(source, edits) };
}

/** Of edits at one place, the earlier made stands first. */
function edited(source: string, edits: readonly (Range & { text: string })[]): string {
  let text = '';
  let from = 0;
  for (const edit of edits.toSorted((a, b) => a.start - b.start || a.end - b.end)) {
    text += source.slice(from, edit.start) + edit.text;
    from = edit.end;
  }
  return text + source.slice(from);
}

const blanks = (text: string) => text.replace(/[^\n]/g, ' ');

/** The text with blanks in place of ranges, so that every line and column stays where it was. */
export function without(source: string, ranges: readonly Range[]): string {
  let text = source;
  for (const { start, end } of ranges) {
    text = text.slice(0, start) + blanks(text.slice(start, end)) + text.slice(end);
  }
  return text;
}

export function placeOf(source: string, offset: number): { line: number; column: number } {
  const before = source.slice(0, offset);
  return { line: before.split('\n').length, column: before.length - before.lastIndexOf('\n') };
}

const longest = 60;
const shortened = (text: string) => {
  const line = text.replace(/\s+/g, ' ').trim();
  return line.length > longest ? `${line.slice(0, longest)} …` : line;
};

// A comment, an escaped brace, three braces, or two that end before the next two begin.
const braces = /\\\{\{|\{\{!--[\s\S]*?--~?\}\}|\{\{\{[\s\S]*?\}\}\}|\{\{(?:(?!\{\{)[\s\S])*?\}\}/g;

/** In order; those that open and go on without closing, to the end of their line, are among them. */
function bracesOf(source: string): Brace[] {
  const whole = [...source.matchAll(braces)].filter(([text]) => !text.startsWith('\\'));
  const rest = source.replace(braces, blanks);
  const cut = [...rest.matchAll(/\{\{[^\n]*?(?=\{\{|\n|$)/g)];
  return [...whole.map((match) => braceOf(match, true)), ...cut.map((match) => braceOf(match, false))].sort(
    (a, b) => a.start - b.start,
  );
}

function braceOf({ 0: text, index }: RegExpExecArray, isWhole: boolean): Brace {
  const inner = text.replace(/^\{+~?\s*/, '').replace(/\s*~?\}*$/, '');
  const [, sign, word = ''] = /^([#/^!>&]|else\b)?\s*([^\s}|()]*)/.exec(inner) ?? [];
  const of = (kind: Brace['kind']): Brace => ({
    start: index,
    end: index + text.length,
    text,
    isWhole,
    kind,
    word: word.replace(/^[*>]/, ''),
  });
  if (sign === '!') return of('comment');
  if (sign === '#' || (sign === '^' && word !== '')) return of('opens');
  if (sign === '/') return of('closes');
  return of(sign === 'else' || sign === '^' ? 'else' : 'value');
}

/** A brace with what it needs around it to be read alone. */
function wholeOf({ kind, text, word }: Brace): string {
  if (kind === 'opens') return `${text}{{/${word}}}`;
  if (kind === 'else') return `{{#if a}}${text}{{/if}}`;
  return text;
}

function parses(source: string): boolean {
  try {
    parseTemplate(source);
    return true;
  } catch {
    return false;
  }
}
