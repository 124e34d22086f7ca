import { startEmbeddedPostgres } from '../../server/database/embedded.ts';

const server = await startEmbeddedPostgres(process.argv[2]!);
process.send?.(server.url);
setInterval(() => {}, 1000);
