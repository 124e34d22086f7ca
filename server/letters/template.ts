import Handlebars from 'handlebars';
import { TemplateFault } from './template-fault.ts';
import { toMarkdown, wording } from './wording.ts';

/**
 * A letter's template: Handlebars over the letter's data, giving Markdown. Every printed value passes through
 * `toMarkdown`, so values can't bring structure with them; the engine has only our own wording, no partials,
 * no decorators and no prototype access. `checkTemplate` says beforehand what would fail here.
 */
export type LetterTemplate = (data: object) => string;

const printName = 'print';
const blocks = ['if', 'unless', 'each', 'with'];

const engine = Handlebars.create();
for (const name of ['lookup', 'log', 'helperMissing', 'blockHelperMissing']) engine.unregisterHelper(name);
// Handlebars passes its own options object last; wording gets only the values.
for (const [name, { call }] of Object.entries(wording))
  engine.registerHelper(name, (...values: unknown[]) => {
    const options = values.pop() as Placed;
    try {
      return call(...values);
    } catch (error) {
      const found = fault(options, `“${name}” ${(error as Error).message}`);
      if (!collected) throw found;
      collected.push(found);
      return null;
    }
  });
engine.registerHelper(printName, (value: unknown) => toMarkdown(value));

/** Letters of a whole season go round some thousand times and write some hundred thousand characters. */
const mostRounds = 30_000;
const mostWritten = 4_000_000;
/** Of the letter being written; writing is not interrupted by another. */
let rounds = 0;
let written = 0;

/** While a template is tried: what its words were given wrongly, all of it. Else the first one is thrown. */
let collected: TemplateFault[] | null = null;

/** Does `write` to its end, whatever the words of a template are given, and tells what was wrong. */
export function collectFaults(write: () => void): TemplateFault[] {
  collected = [];
  try {
    write();
    return collected;
  } catch (error) {
    if (collected.length === 0) throw error;
    return collected;
  } finally {
    collected = null;
  }
}

const each = engine.helpers.each as Handlebars.HelperDelegate;
engine.registerHelper('each', function (this: unknown, list: unknown, options: Placed) {
  rounds += Array.isArray(list) ? list.length : 0;
  if (rounds > mostRounds) {
    throw fault(
      options,
      `the loops go round more than ${mostRounds.toLocaleString('en-US')} times; go through each list only once`,
    );
  }
  const once = options.fn;
  const fn: typeof once = (context, more) => {
    const text = once(context, more);
    written += text.length;
    if (written > mostWritten) throw fault(options, 'the loops write more than a letter can hold');
    return text;
  };
  return each.call(this, list, { ...options, fn });
});

/** What Handlebars gives a helper, with the place in the template that called it. */
type Placed = Handlebars.HelperOptions & { loc?: { start: { line: number; column: number } } };

const fault = ({ loc }: Placed, message: string) =>
  new TemplateFault(message, loc?.start.line ?? 1, (loc?.start.column ?? 0) + 1);

/** Parses the template. Throws Handlebars' own error, which names the line. */
export function parseTemplate(source: string): hbs.AST.Program {
  return Handlebars.parseWithoutProcessing(source);
}

/** @throws Error when the template can't be parsed or uses what a letter's template may not. */
export function compileTemplate(source: string): LetterTemplate {
  const program = Handlebars.parse(source);
  new Printing().accept(program);
  const render = engine.compile(program, {
    noEscape: true,
    strict: true,
    knownHelpersOnly: true,
    knownHelpers: Object.fromEntries(
      [...blocks, printName, ...Object.keys(wording)].map((n) => [n, true]),
    ) as never,
    preventIndent: true,
  });
  return (data) => {
    rounds = 0;
    written = 0;
    return render(data, { allowProtoPropertiesByDefault: false, allowProtoMethodsByDefault: false });
  };
}

/** Rewrites each `{{value}}` to `{{print value}}`, the one gate from data to Markdown. */
class Printing extends Handlebars.Visitor {
  override MustacheStatement(mustache: hbs.AST.MustacheStatement): void {
    const printed: hbs.AST.Expression =
      mustache.params.length || mustache.hash?.pairs.length || isWording(mustache.path)
        ? ({
            type: 'SubExpression',
            path: mustache.path,
            params: mustache.params,
            hash: mustache.hash,
            loc: mustache.loc,
          } as hbs.AST.SubExpression)
        : mustache.path;
    mustache.params = [printed];
    mustache.hash = undefined as never;
    mustache.escaped = false;
    mustache.path = {
      type: 'PathExpression',
      data: false,
      depth: 0,
      parts: [printName],
      original: printName,
      loc: mustache.loc,
    } as hbs.AST.PathExpression;
  }
  override PartialStatement(): void {
    throw new Error('A letter’s template can’t include other files.');
  }
  override PartialBlockStatement(): void {
    throw new Error('A letter’s template can’t include other files.');
  }
  override DecoratorBlock(): void {
    throw new Error('A letter’s template can’t define partials.');
  }
  override Decorator(): void {
    throw new Error('A letter’s template can’t use decorators.');
  }
}

function isWording(path: hbs.AST.MustacheStatement['path']): boolean {
  return path.type === 'PathExpression' && Object.hasOwn(wording, (path as hbs.AST.PathExpression).original);
}
