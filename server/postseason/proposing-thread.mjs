// A worker thread starts without the TypeScript loader of the process that made it, so it brings its own.
import { register } from 'tsx/esm/api';

register();
await import('./proposing-work.ts');
