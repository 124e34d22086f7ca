import { type DemoSeason, makeDemoSeason } from '../../seed-demo/season.ts';

let season: DemoSeason | undefined;

/** The invented season, made once for all files of a test process (five seconds of its time): to be read, not changed. */
export function demoSeason(): DemoSeason {
  season ??= makeDemoSeason();
  return season;
}
