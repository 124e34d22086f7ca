import { STATUS_CODES } from 'node:http';
import { policies } from './accounts/policy.ts';
import { type Examples, inDescription } from './api-examples/example.ts';
import { examples } from './api-examples/index.ts';

// What every operation of the API's description has in common, said once: its name, how it refuses, what a file is.

interface Content {
  schema?: object;
  example?: unknown;
  examples?: object;
}
interface Answer {
  $ref?: string;
  description?: string;
  headers?: Record<string, object>;
  content?: Record<string, Content>;
}
interface Operation {
  operationId?: string;
  summary?: string;
  description?: string;
  tags?: string[];
  parameters?: { in: string; name: string }[];
  requestBody?: { required?: boolean; content?: Record<string, Content> };
  security?: object[];
  responses: Record<string, Answer>;
  /** Left by the route for here: what is sent as the body itself, and who may ask. */
  'x-files'?: readonly string[];
  'x-policy'?: string;
}
export interface Described {
  paths?: Record<string, Record<string, Operation>>;
  components?: { schemas?: Record<string, object>; responses?: Record<string, object> };
}

export const tags = [
  { name: 'operation', description: 'Whether the program works.' },
  { name: 'session', description: 'Signing in and out, and the password.' },
  { name: 'people', description: 'Everybody of the conference, with their roles.' },
  { name: 'tokens', description: 'Tokens for programs.' },
  { name: 'schedule', description: 'Seasons, teams, crews and games.' },
  { name: 'import', description: 'Files, in and out.' },
  { name: 'play logs from elsewhere', description: 'Play logs in whatever form, and how they are read.' },
  { name: 'rubric', description: 'The duties of officials, by version.' },
  { name: 'reports', description: 'Observers’ reports: entered, filed, reviewed, released, answered.' },
  { name: 'standings', description: 'Grades, ranks and severity.' },
  { name: 'over the seasons', description: 'Officials, duties and observers from season to season.' },
  { name: 'patterns', description: 'Repeat misses and strengths.' },
  { name: 'training programs', description: 'Plays chosen to teach, and editions released of them.' },
  { name: 'development points', description: 'What an official works on.' },
  {
    name: 'calibration of observers',
    description: 'The same clips marked by all observers, blind to each other.',
  },
  {
    name: 'quizzes and clinics',
    description: 'Questions on rules and mechanics, quizzes made of them, clinics.',
  },
  { name: 'observers', description: 'Who watches which game.' },
  { name: 'inquiries', description: 'Teams ask about plays of their own games.' },
  {
    name: 'postseason',
    description:
      'Officials for games after the season: candidates in tiers, proposals, committees, choices, offers, records.',
  },
  { name: 'letters', description: 'Letters, game reports and the season book.' },
  { name: 'messages', description: 'What people are told.' },
  { name: 'films', description: 'Films of games: brought, watched, and where plays are in them.' },
  { name: 'webhooks', description: 'Addresses that are told what happens, and what they are sent.' },
  { name: 'retention', description: 'What is kept how long.' },
];

const refusals = {
  400: [
    'NotUnderstood',
    'A parameter or the body is not as described; `errors` names each field and the fix.',
  ],
  401: ['NotSignedIn', 'Nobody is signed in, or the token does not work.'],
  403: ['NotAllowed', 'The role, or a token that only reads, may not do this.'],
  404: ['NotFound', 'There is no such thing, or it is not yours to see.'],
  409: ['Conflict', 'What is there does not allow it: a closed season, or somebody else was faster.'],
  413: ['TooLarge', 'The file is larger than 200 MB.'],
  415: ['OtherMedia', 'The body has another media type than those described.'],
  429: ['TooOften', 'Too many wrong tries: wait as long as the header Retry-After says.'],
  503: [
    'Away',
    'The database does not answer just now: the same request may be sent again, nothing is kept twice.',
  ],
} as const;
type Refused = keyof typeof refusals;

const problem = (status: number, detail: string, more: object = {}) => ({
  'application/problem+json': {
    schema: { $ref: '#/components/schemas/Problem' },
    example: { type: 'about:blank', title: STATUS_CODES[status], status, detail, ...more },
  },
});
const header = (description: string, example: string) => ({
  description,
  schema: { type: 'string' },
  example,
});
const headersOf: Partial<Record<Refused, Record<string, object>>> = {
  401: {
    'WWW-Authenticate': header(
      'How to be let in (RFC 6750, section 3).',
      'Bearer realm="Crewmark", error="invalid_token"',
    ),
  },
  403: {
    'WWW-Authenticate': header(
      'How to be let in (RFC 6750, section 3).',
      'Bearer realm="Crewmark", error="insufficient_scope"',
    ),
  },
  429: { 'Retry-After': header('Seconds to wait.', '30') },
  503: { 'Retry-After': header('Seconds to wait.', '2') },
};

/** The answers that operations refer to. */
export const refusalResponses = Object.fromEntries(
  Object.entries(refusals).map(([status, [name, description]]) => {
    const headers = headersOf[Number(status) as Refused];
    const more =
      status === '400' ? { errors: [{ field: 'querystring.season', message: 'must not be empty' }] } : {};
    const content = problem(Number(status), description, more);
    return [name, { description, ...(headers ? { headers } : {}), content }];
  }),
);

const files: Readonly<Record<string, string>> = {
  pdf: 'application/pdf',
  zip: 'application/zip',
  csv: 'text/csv',
  vtt: 'text/vtt',
  srt: 'application/x-subrip',
  edl: 'text/plain',
  otio: 'application/octet-stream',
};
/** What an address answers with, where that is a file and its name does not end in what it is. */
const filesAt: Readonly<Record<string, string>> = { '/api/exports': 'zip', '/api/exports/{kind}': 'csv' };

const whoMay: Readonly<Record<string, string>> = {
  open: 'Open to everybody.',
  'signed in': 'For everybody who is signed in.',
  staff: 'For coordinators, observers and officials.',
  coordinator: 'For coordinators.',
  observer: 'For observers.',
  official: 'For officials.',
  'team contact': 'For contacts of teams.',
  'own report': 'For its observer, and coordinators.',
  'writes report': 'For its observer only.',
  'assigned game': 'For observers assigned to the game, and coordinators.',
  'plays of the game':
    'For coordinators, observers assigned to the game and, once a report is released, the officials who worked it.',
  'film of the game':
    'For coordinators and, as the conference’s settings of film say, observers assigned to the game and the officials who worked it.',
  'own assignment': 'For the observer it was offered to, and coordinators.',
  'calibration set': 'For observers asked to mark its clips, once it was opened, and coordinators.',
  'marks calibration': 'For observers asked to mark its clips, once it was opened.',
  'own evaluation': 'For the official it is about, as far as it is released, and coordinators.',
  'coordinator of the person': 'For coordinators of the person’s conference.',
  'own letter': 'For the official it was released to, and coordinators.',
  'released observation about me': 'For the official it is about, once its report is released.',
  'own reply': 'For the official who wrote it, and coordinators.',
  'to watch': 'For those of the audience of an edition of it.',
  'inquiry of the conference': 'For coordinators.',
  'selection of the conference': 'For coordinators.',
  'own offer': 'For the official to whom it was offered.',
  'own team’s inquiry': 'For contacts of the team that asks.',
  'answered inquiry': 'For contacts of the team that asks, and coordinators.',
  'game of own team': 'For contacts of a team that plays in it.',
  'statement of inquiry': 'For the official who was asked.',
  'second reader of inquiry': 'For the coordinator or observer who was asked to read it.',
  'seat of selection': 'For the coordinator or observer who sits on its committee.',
};
for (const { name } of Object.values(policies)) {
  if (!(name in whoMay)) throw new Error(`The API's description does not say who may: "${name}"`);
}

/** Says of each operation what its route leaves unsaid. */
export function completeOperations(document: Described): void {
  for (const [path, operations] of Object.entries(document.paths ?? {})) {
    for (const [method, operation] of Object.entries(operations)) complete(operation, method, path);
  }
  withoutLoneChoices(document);
  const { schemas = {} } = document.components ?? {};
  // Of each schema there is one for what is sent and one for what is answered, needed or not.
  for (let unused = ['']; unused.length > 0; ) {
    const text = JSON.stringify(document);
    unused = Object.keys(schemas).filter((name) => !text.includes(`"#/components/schemas/${name}"`));
    for (const name of unused) delete schemas[name];
  }
}

/** `anyOf` one schema is that schema: so a body is described that is also taken when it is not as described. */
function withoutLoneChoices(at: unknown): void {
  if (typeof at !== 'object' || at === null) return;
  const { anyOf } = at as { anyOf?: object[] };
  if (Array.isArray(anyOf) && anyOf.length === 1) {
    delete (at as { anyOf?: object[] }).anyOf;
    Object.assign(at, anyOf[0]);
  }
  for (const inside of Object.values(at)) withoutLoneChoices(inside);
}

function complete(operation: Operation, method: string, path: string): void {
  const { 'x-policy': policy = 'open', 'x-files': sent } = operation;
  delete operation['x-policy'];
  delete operation['x-files'];
  operation.operationId = nameOf(method, path);
  operation.description = [operation.description, whoMay[policy]].filter(Boolean).join('\n\n');
  if (sent) {
    operation.requestBody = {
      required: true,
      content: Object.fromEntries(sent.map((type) => [type, { schema: fileSchema(type) }])),
    };
  }
  const file = files[filesAt[path] ?? /\.(\w+)$/.exec(path)?.[1] ?? ''];
  const given = operation.responses['200'];
  if (file && given) {
    given.description = 'The file.';
    given.content = { [file]: { schema: fileSchema(file) } };
  }
  for (const [status, answer] of Object.entries(operation.responses)) {
    if (answer.description === 'Default Response') answer.description = STATUS_CODES[status] ?? 'Done';
    // What a route refuses in its own way is a problem too.
    const own = answer.content?.['application/json'];
    if (own && status.startsWith('4')) answer.content = { 'application/problem+json': own };
  }
  for (const status of refusalsOf(operation, method, path, sent !== undefined))
    operation.responses[status] ??= { $ref: `#/components/responses/${refusals[status][0]}` };
  const { sent: toSend, answered } = examples[operation.operationId] ?? {};
  show(toSend, operation.requestBody?.content);
  show(answered, Object.entries(operation.responses).find(([status]) => status.startsWith('2'))?.[1].content);
}

/** Of media types only these are text that can be shown. */
function show(shown: Examples | undefined, content: Record<string, Content> = {}): void {
  const text = content['application/json'] ?? content['text/csv'];
  if (shown && text) text.examples = inDescription(shown);
}

function refusalsOf(operation: Operation, method: string, path: string, takesFile: boolean): Refused[] {
  const isSignedIn = (operation.security?.length ?? 0) > 0;
  const asksPassword = path === '/api/session' && method === 'post';
  return [
    400,
    ...(isSignedIn ? ([401, 403] as const) : []),
    ...(asksPassword ? ([401] as const) : []),
    ...(path.includes('{') ? ([404] as const) : []),
    ...(method !== 'get' ? ([409] as const) : []),
    ...(takesFile ? ([413, 415] as const) : []),
    ...(asksPassword || path.startsWith('/api/session/') || path.startsWith('/api/account-links')
      ? ([429] as const)
      : []),
    ...(path.startsWith('/api/') ? ([503] as const) : []),
  ];
}

const fileSchema = (type: string) =>
  type === 'text/csv' ? { type: 'string' } : { type: 'string', format: 'binary', contentMediaType: type };

/** `GET /api/seasons/{seasonId}/crews` is `getSeasonsCrews`; a last part in braces is named, by what it is. */
function nameOf(method: string, path: string): string {
  const parts = path.split('/').filter((part) => part !== '' && part !== 'api');
  const last = parts.at(-1)!;
  const words = parts.filter((part) => !part.startsWith('{')).flatMap((part) => part.split(/[^a-z0-9]+/i));
  const by = last.startsWith('{') ? ['by', last.slice(1, -1)] : [];
  return [method, ...words, ...by]
    .map((word, at) => (at === 0 ? word : word[0]!.toUpperCase() + word.slice(1)))
    .join('');
}
