import type { Measurement } from './measurement.ts';

/** Every benchmark by name, in the order in which `npm run bench` runs them. Add one by a line here. */
export const benchmarks: Readonly<Record<string, () => Promise<Measurement[]>>> = {
  'start-to-ready': async () => (await import('./start-to-ready.ts')).startToReady(),
  'insteval-reml': async () => (await import('./insteval-reml.ts')).instevalReml(),
  'insteval-three': async () => (await import('./insteval-reml.ts')).instevalThree(),
  'count-model': async () => (await import('./count-model.ts')).countModel(),
  standings: async () => (await import('./standings.ts')).standings(),
  patterns: async () => (await import('./patterns.ts')).patterns(),
  'assignment-week': async () => (await import('./assignment.ts')).assignmentWeek(),
  'assignment-season': async () => (await import('./assignment.ts')).assignmentSeason(),
  'choose-plays': async () => (await import('./choose-plays.ts')).choosePlays(),
  reel: async () => (await import('./reel.ts')).reel(),
  opportunities: async () => (await import('./opportunities.ts')).opportunities(),
  'save-mark': async () => (await import('./save-mark.ts')).saveMark(),
  'file-report': async () => (await import('./file-report.ts')).fileReportBench(),
  pages: async () => (await import('./pages.ts')).pages(),
  conferences: async () => (await import('./conferences.ts')).conferencesBench(),
  letters: async () => (await import('./letters.ts')).letters(),
};
