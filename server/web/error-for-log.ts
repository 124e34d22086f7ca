/** What a log may hold of an error: what kind it is and where it was thrown, never what somebody wrote. */
interface ErrorForLog {
  readonly type: string;
  readonly code?: string;
  /** Where, line by line; without the message. */
  readonly stack?: string;
  readonly cause?: ErrorForLog;
  readonly [field: string]: unknown;
}

/** Of a database's error only names of things are told: of its schema, which nobody's text is in. */
const named = ['severity', 'schema', 'table', 'column', 'constraint', 'dataType', 'routine', 'kind'] as const;
/** Where the causes of an error are kept: by the language, by the ORM, by several errors in one. */
const within = ['cause', 'driverAdapterError'] as const;
const deepest = 4;

const name = /^[\w$. :-]{1,100}$/;
const frame = /^\s+at (?:[\w$.<>[\] #]{1,200} \()?(?:node:|file:|\/|[A-Za-z]:\\)[^\n()]*:\d+:\d+\)?$/;

/**
 * An error's message is left out, whoever made it: those of the database, of parsers and of a mail server repeat the
 * values that they are about, and so do `detail`, `where` and the parameters of a query. Type, code and the lines of the
 * stack say what went wrong and where.
 */
export function errorForLog(thrown: unknown, depth = 0): ErrorForLog {
  if (typeof thrown !== 'object' || thrown === null) return { type: typeof thrown };
  const error = thrown as Record<string, unknown> & Error;
  const kept: Record<string, unknown> = { type: typeOf(error) };
  if (typeof error.code === 'string' && /^\w{1,40}$/.test(error.code)) kept.code = error.code;
  for (const field of named) {
    const value = error[field];
    if (typeof value === 'string' && name.test(value)) kept[field] = value;
  }
  const status = error.status ?? error.statusCode;
  if (typeof status === 'number') kept.status = status;
  if (typeof error.stack === 'string') kept.stack = framesOf(error);
  const meta = error.meta as { driverAdapterError?: unknown } | undefined;
  const inner =
    within.map((key) => error[key]).find((each) => each !== undefined) ?? meta?.driverAdapterError;
  if (inner !== undefined && inner !== null && depth < deepest) kept.cause = errorForLog(inner, depth + 1);
  return kept as ErrorForLog;
}

const typeOf = (error: Error): string => {
  const type = error.constructor?.name || error.name;
  return typeof type === 'string' && name.test(type) ? type : 'Error';
};

/** The stack begins with the message, of however many lines, which may look like the stack's own. */
function framesOf({ stack = '', message }: Error): string {
  const after = typeof message === 'string' && message !== '' ? stack.indexOf(message) : -1;
  const rest = after < 0 ? stack : stack.slice(after + String(message).length);
  return rest
    .split('\n')
    .filter((line) => frame.test(line))
    .map((line) => line.trim())
    .join('\n');
}
