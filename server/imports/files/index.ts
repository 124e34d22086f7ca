import { clinicAttendance } from './clinic-attendance.ts';
import { crews } from './crews.ts';
import type { FileKind } from './file-kind.ts';
import { observerAssignments } from './observer-assignments.ts';
import { officialFacts } from './official-facts.ts';
import { plays } from './plays.ts';
import { schedule } from './schedule.ts';
import { staff } from './staff.ts';
import { teams } from './teams.ts';
import { venues } from './venues.ts';
import { workingCrews } from './working-crews.ts';

/** Every kind of file that can be imported, in the order in which one may refer to the one before. */
export const fileKinds: readonly FileKind[] = [
  venues,
  teams,
  staff,
  crews,
  schedule,
  workingCrews,
  plays,
  observerAssignments,
  officialFacts,
  clinicAttendance,
];

export function fileKindNamed(name: string): FileKind | undefined {
  return fileKinds.find((kind) => kind.format.name === name);
}

/** The kind that a file's name tells: `plays.csv`, `plays-week-3.csv`, `Working Crews.xlsx`. */
export function fileKindOfFileName(fileName: string): FileKind | undefined {
  const base = fileName
    .toLowerCase()
    .replace(/\.(csv|tsv|txt|xlsx)$/, '')
    .replace(/[\s_]+/g, '-');
  const fitting = fileKinds.filter(
    ({ format }) => base === format.name || base.startsWith(`${format.name}-`),
  );
  return fitting.sort((a, b) => b.format.name.length - a.format.name.length)[0];
}
