import type { Limits } from '../../films/looking/tool-process.ts';

/** For one clip or the joining of all; the longest clip is ten minutes of a play. */
export const renderLimits: Limits = {
  cpuSeconds: 3600,
  seconds: 7200,
  fileBytes: 8e9,
  memoryBytes: 4 * 2 ** 30,
  // People's pages come first.
  niceness: 10,
};
export const probeLimits: Limits = { ...renderLimits, cpuSeconds: 600, seconds: 1800, fileBytes: 0 };
