import Handlebars from 'handlebars';
import { z } from 'zod';
import { parseTemplate } from './template.ts';
import { mendBraces, placeOf, type Range, without } from './template-braces.ts';
import type { TemplateProblem } from './template-problem.ts';
import { wording } from './wording.ts';

/** What a template of one kind may name: its fields, and its plots as `![](chart:NAME)`. */
export interface TemplateContract {
  data: z.ZodType;
  charts: RegExp;
  /** What there is for every official, and came later than templates that conferences may have made their own. */
  forEverybody: readonly ToldToEverybody[];
}

interface ToldToEverybody {
  field: string;
  /** Completes "It does not tell ...". */
  what: string;
}

type Schema = {
  type?: string | string[];
  properties?: Record<string, Schema>;
  items?: Schema;
  anyOf?: Schema[];
};

/**
 * Reads a template against the schema of its data and finds every brace that can't be read and every field, word or
 * plot that isn't there, each at its own place, before any letter is made. What only writing shows, `LetterWriter.check`
 * finds.
 */
export function checkTemplate(source: string, contract: TemplateContract): TemplateProblem[] {
  return soundPart(source, contract).problems;
}

/** The same, with what is left of the template without the parts that are wrong: it can be written with. */
export function soundPart(
  source: string,
  contract: TemplateContract,
): { problems: TemplateProblem[]; sound: string } {
  const { problems, mended } = mendBraces(source);
  let program: hbs.AST.Program;
  try {
    program = parseTemplate(mended);
  } catch (error) {
    return { problems: inOrder([...problems, problemOfParser(error)]), sound: '' };
  }
  const checker = new Checker(mended, z.toJSONSchema(contract.data, { unrepresentable: 'any' }) as Schema);
  checker.accept(program);
  const others = [...imageProblems(source, contract.charts), ...quoteProblems(source)];
  return {
    problems: inOrder([...problems, ...checker.problems, ...others.map(({ problem }) => problem)]),
    sound: without(mended, [...checker.wrong, ...others.map(({ range }) => range)]),
  };
}

const inOrder = (problems: readonly TemplateProblem[]) =>
  problems.toSorted((a, b) => a.line - b.line || a.column - b.column);

/**
 * What every letter could say and this template does not: a conference's own may be older than what it could say. It is
 * no fault, and nothing of a template that can't be read.
 */
export function notTold(source: string, { forEverybody }: TemplateContract): ToldToEverybody[] {
  let program: hbs.AST.Program;
  try {
    program = parseTemplate(source);
  } catch {
    return [];
  }
  const named = new NamedFields();
  named.accept(program);
  return forEverybody.filter(({ field }) => !named.fields.has(field));
}

class NamedFields extends Handlebars.Visitor {
  readonly fields = new Set<string>();
  override PathExpression(path: hbs.AST.PathExpression): void {
    for (const part of path.parts) this.fields.add(String(part));
  }
}

/** The fields a template may name, each with what it holds, for the page where templates are edited. */
export function fieldsOf(data: z.ZodType): { path: string; holds: string }[] {
  const fields: { path: string; holds: string }[] = [];
  const walk = (schema: Schema & { description?: string }, path: string) => {
    const actual = present(schema);
    if (actual.items) {
      fields.push({ path, holds: 'a list; use it with #each' });
      walk(actual.items, `${path}[]`);
    } else if (actual.properties) {
      for (const [name, child] of Object.entries(actual.properties))
        walk(child, path ? `${path}.${name}` : name);
    } else {
      const description = schema.description ?? (actual as { description?: string }).description;
      const kind = actual.type === 'string' ? 'text' : actual.type === 'boolean' ? 'yes or no' : 'a figure';
      const mayBeMissing = schema.anyOf ? ', may be missing' : '';
      fields.push({ path, holds: `${description ?? kind}${mayBeMissing}` });
    }
  };
  walk(z.toJSONSchema(data, { unrepresentable: 'any' }) as Schema, '');
  return fields;
}

/** What is left when every brace by itself can be read: Handlebars tells its own place. */
function problemOfParser(error: unknown): TemplateProblem {
  const text = error instanceof Error ? error.message : String(error);
  const onLine = /Parse error on line (\d+)/.exec(text);
  const atPlace = / - (\d+):(\d+)$/.exec(text);
  const what = atPlace ? text.slice(0, atPlace.index) : 'the braces can’t be read';
  return {
    line: Number(onLine?.[1] ?? atPlace?.[1] ?? 1),
    column: atPlace ? Number(atPlace[2]) + 1 : 1,
    message: `${what}.`,
  };
}

const blockWords = ['if', 'unless', 'each', 'with'];
const loopFields = ['index', 'first', 'last', 'key'];

interface Scope {
  /** Null inside a block of something that isn't there: whatever is named is let pass, told once is enough. */
  schema: Schema | null;
  loop: boolean;
  /** Names given by `as |name|`. */
  named: Record<string, Schema>;
}

class Checker extends Handlebars.Visitor {
  readonly problems: TemplateProblem[] = [];
  /** Statements and blocks that nothing can be written with. */
  readonly wrong: Range[] = [];
  private readonly starts: number[];
  private readonly scopes: Scope[];
  private statement: hbs.AST.Node | null = null;

  constructor(source: string, schema: Schema) {
    super();
    this.starts = [0, ...[...source.matchAll(/\n/g)].map(({ index }) => index + 1)];
    this.scopes = [{ schema, loop: false, named: {} }];
  }

  override MustacheStatement(mustache: hbs.AST.MustacheStatement): void {
    this.statement = mustache;
    const { path } = mustache;
    if (mustache.params.length === 0 && !mustache.hash?.pairs.length && !isWord(path)) {
      const schema = this.schemaOf(path);
      if (schema?.properties)
        this.report(path, `“${textOf(path)}” is a group of fields: name one of ${listed(schema.properties)}`);
      else if (schema?.items)
        this.report(path, `“${textOf(path)}” is a list: go through it with {{#each ${textOf(path)}}}`);
      return;
    }
    this.wordCall(mustache);
  }

  override SubExpression(expression: hbs.AST.SubExpression): void {
    this.wordCall(expression);
  }

  override BlockStatement(block: hbs.AST.BlockStatement): void {
    this.statement = block;
    const word = textOf(block.path);
    const subject = block.params[0];
    if (!blockWords.includes(word)) {
      this.report(block, `{{#${word}}} isn’t known: a block begins with #if, #unless, #each or #with`);
      this.inside(block, { schema: null, loop: true, named: {} });
      return;
    }
    if (!subject || block.params.length > 1) {
      this.report(block, `{{#${word}}} takes one value, for example {{#${word} strengths}}`);
      this.inside(block, { schema: null, loop: true, named: {} });
      return;
    }
    const before = this.problems.length;
    const schema = this.schemaOf(subject);
    const items = schema?.items;
    if (schema && isAnything(schema)) {
      this.inside(block, { schema: null, loop: word === 'each', named: {} });
      return;
    }
    if (schema && word === 'each' && !items) this.report(subject, `“${textOf(subject)}” isn’t a list`);
    else if (schema && word === 'with' && !schema.properties)
      this.report(subject, `“${textOf(subject)}” isn’t a group of fields`);
    else if (schema && (word === 'each' || word === 'with')) {
      const inner = present(word === 'each' ? items! : schema);
      const [first, second] = block.program.blockParams ?? [];
      const named: Record<string, Schema> = {};
      if (first) named[first] = inner;
      if (second) named[second] = { type: 'integer' };
      this.inside(block, { schema: inner, loop: word === 'each', named });
      return;
    }
    const isWrong = this.problems.length > before;
    if ((word === 'each' || word === 'with') && isWrong) {
      this.inside(block, { schema: null, loop: word === 'each', named: {} });
      return;
    }
    this.accept(block.program);
    if (block.inverse) this.accept(block.inverse);
  }

  /** What a block holds, with what can be named there; what it says otherwise is outside of that. */
  private inside(block: hbs.AST.BlockStatement, scope: Scope): void {
    this.scopes.push(scope);
    this.accept(block.program);
    this.scopes.pop();
    if (block.inverse) this.accept(block.inverse);
  }

  override PartialStatement(statement: hbs.AST.PartialStatement): void {
    this.statement = statement;
    this.report(statement, 'a letter’s template can’t include other files');
  }
  override PartialBlockStatement(statement: hbs.AST.PartialBlockStatement): void {
    this.statement = statement;
    this.report(statement, 'a letter’s template can’t include other files');
  }
  override DecoratorBlock(statement: hbs.AST.DecoratorBlock): void {
    this.statement = statement;
    this.report(statement, 'a letter’s template can’t define partials');
  }
  override Decorator(statement: hbs.AST.Decorator): void {
    this.statement = statement;
    this.report(statement, 'a letter’s template can’t use decorators');
  }

  /** A word with its values, such as `percent rate`. */
  private wordCall(expression: hbs.AST.MustacheStatement | hbs.AST.SubExpression): void {
    const name = textOf(expression.path);
    const word = Object.hasOwn(wording, name) ? wording[name] : undefined;
    if (!word) {
      this.report(expression, `“${name}” isn’t a known word. Known are ${Object.keys(wording).join(', ')}`);
      return;
    }
    const [least, most] = word.takes;
    const given = expression.params.length;
    if (given < least || given > most) {
      const wanted = least === most ? `${least}` : `${least} to ${most}`;
      this.report(
        expression,
        `“${name}” takes ${wanted} ${most === 1 ? 'value' : 'values'}, not ${given}: it gives ${word.does}`,
      );
    }
    if (expression.hash?.pairs.length) this.report(expression, `“${name}” takes no name=value pairs`);
    for (const value of expression.params) this.schemaOf(value);
  }

  /** The schema of a value, or null when it was reported as unknown. */
  private schemaOf(expression: hbs.AST.Expression): Schema | null {
    if (expression.type === 'SubExpression') {
      this.wordCall(expression as hbs.AST.SubExpression);
      return {};
    }
    if (expression.type !== 'PathExpression') return {};
    const path = expression as hbs.AST.PathExpression;
    const parts = path.parts.map(String);
    if (path.data) return this.loopValue(path, parts);
    const depth = this.scopes.length - 1 - path.depth;
    if (depth < 0) {
      this.report(path, `“${path.original}” leads out of the letter`);
      return null;
    }
    const named =
      path.depth === 0
        ? this.scopes.findLast(({ named }) => Object.hasOwn(named, parts[0] ?? ''))
        : undefined;
    const start = named ? named.named[parts.shift()!]! : this.scopes[depth]!.schema;
    if (start === null) return anything;
    return this.follow(path, start, parts);
  }

  private loopValue(path: hbs.AST.PathExpression, parts: string[]): Schema | null {
    const [first, ...rest] = parts;
    if (first === 'root') return this.follow(path, this.scopes[0]!.schema!, rest);
    const loops = this.scopes.filter(({ loop }) => loop).length;
    if (loopFields.includes(first ?? '') && rest.length === 0 && loops > path.depth)
      return { type: 'integer' };
    this.report(path, `“${path.original}” isn’t known here; inside #each there are @index, @first and @last`);
    return null;
  }

  private follow(path: hbs.AST.PathExpression, start: Schema, parts: readonly string[]): Schema | null {
    let schema = present(start);
    for (const part of parts) {
      if (schema.items && part === 'length') return { type: 'integer' };
      const next =
        schema.properties && Object.hasOwn(schema.properties, part) ? schema.properties[part] : undefined;
      if (!next) {
        const known = schema.properties ? ` Here you can name ${listed(schema.properties)}.` : '';
        this.report(path, `there is no field “${path.original}”.${known}`);
        return null;
      }
      schema = present(next);
    }
    return schema;
  }

  private report({ loc }: hbs.AST.Node, message: string): void {
    const whole = (this.statement ?? { loc }).loc;
    this.wrong.push({ start: this.offsetOf(whole.start), end: this.offsetOf(whole.end) });
    this.problems.push({
      line: loc.start.line,
      column: loc.start.column + 1,
      message: message.endsWith('.') ? message : `${message}.`,
    });
  }

  private offsetOf({ line, column }: { line: number; column: number }): number {
    return this.starts[line - 1]! + column;
  }
}

/** What is named inside a block that is wrong itself. */
const anything: Schema = {};
const isAnything = (schema: Schema) => schema === anything;

/** A schema without its null: a field that may be missing is known all the same. */
function present(schema: Schema): Schema {
  return schema.anyOf?.find(({ type }) => type !== 'null') ?? schema;
}

const listed = (properties: Record<string, Schema>): string => Object.keys(properties).join(', ');
const textOf = (expression: hbs.AST.Expression | hbs.AST.MustacheStatement['path']): string =>
  'original' in expression ? String(expression.original) : 'this value';
const isWord = (path: hbs.AST.MustacheStatement['path']): boolean => Object.hasOwn(wording, textOf(path));

const deepestQuote = 10;

/** What is wrong with a part of the text that is no brace. */
interface WrongText {
  problem: TemplateProblem;
  range: Range;
}

/** Quotes within quotes beyond what a page has room for. */
function quoteProblems(source: string): WrongText[] {
  let start = 0;
  return source.split('\n').flatMap((line, at) => {
    const range = { start, end: start + line.length };
    start = range.end + 1;
    const deep = /^[ \t>]*/.exec(line)![0].replaceAll(/[^>]/g, '').length;
    if (deep <= deepestQuote) return [];
    const message = `quotes are nested ${deep} deep; a page has room for ${deepestQuote}.`;
    return [{ problem: { line: at + 1, column: 1, message }, range }];
  });
}

function imageProblems(source: string, charts: RegExp): WrongText[] {
  return [...source.matchAll(/!\[[^\]]*\]\(((?:\{\{.*?\}\}|[^)])*)\)/g)].flatMap((match) => {
    const name = match[1] ?? '';
    if (name === 'contents' || name === 'new-page') return [];
    if (name.startsWith('chart:') && charts.test(name.slice('chart:'.length))) return [];
    const message = name.startsWith('chart:')
      ? `there is no plot “${name.slice('chart:'.length)}”.`
      : `“${name}” can’t be shown: an image names a plot (chart:grade), contents or new-page; no picture is fetched.`;
    const range = { start: match.index, end: match.index + match[0].length };
    return [{ problem: { ...placeOf(source, match.index), message }, range }];
  });
}
