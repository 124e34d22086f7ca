import type { TemplateProblem } from './template-problem.ts';

/** What a template does wrong while it writes, where it does so. */
export class TemplateFault extends Error {
  override name = 'TemplateFault';
  constructor(
    message: string,
    readonly line: number,
    readonly column: number,
  ) {
    super(message);
  }
}

/** What is wrong with the template, when writing with it threw `error`. */
export function problemOfWriting(error: unknown, source: string): TemplateProblem {
  const text = error instanceof Error ? error.message : String(error);
  if (error instanceof TemplateFault) {
    return { line: error.line, column: error.column, message: `${text}.` };
  }
  // Handlebars tells its own place: "... - 3:11".
  const place = / - (\d+):(\d+)$/.exec(text);
  if (place) {
    return {
      line: Number(place[1]),
      column: Number(place[2]) + 1,
      message: `${text.slice(0, place.index)}.`,
    };
  }
  const line = deepestLine(source);
  if (error instanceof RangeError) {
    return { line, column: 1, message: 'quotes or lists are nested too deeply to be set on a page.' };
  }
  return { line, column: 1, message: `no letter can be made with this: ${text.replace(/\.$/, '')}.` };
}

/** The line whose blocks and quotes are nested deepest: where a letter that gets out of hand most likely does so. */
export function deepestLine(source: string): number {
  let open = 0;
  let deepest = 0;
  let found = 1;
  source.split('\n').forEach((line, at) => {
    const opened = line.match(/\{\{~?#/g)?.length ?? 0;
    const quoted = /^[\s>]*/.exec(line)![0].replaceAll(/[^>]/g, '').length;
    if (open + opened + quoted > deepest) {
      deepest = open + opened + quoted;
      found = at + 1;
    }
    open += opened - (line.match(/\{\{~?\//g)?.length ?? 0);
  });
  return found;
}
