import type { FaceName } from './fonts.ts';

/** Lengths in points. */
export interface TextStyle {
  face: FaceName;
  size: number;
  leading: number;
  color: string;
}

export const colors = {
  ink: '#1c2530',
  quiet: '#5b6673',
  hairline: '#d5dae0',
  accent: '#1f5a5e',
  tint: '#eef4f3',
  band: '#dbe7e6',
  miss: '#a3461c',
  link: '#1f5a5e',
} as const;

export const styles = {
  body: { face: 'regular', size: 10.5, leading: 15, color: colors.ink },
  heading1: { face: 'bold', size: 17, leading: 21, color: colors.ink },
  heading2: { face: 'semibold', size: 13.5, leading: 18, color: colors.accent },
  heading3: { face: 'semibold', size: 11, leading: 15, color: colors.ink },
  mastheadOver: { face: 'semibold', size: 9.5, leading: 13, color: colors.accent },
  mastheadTitle: { face: 'bold', size: 23, leading: 27, color: colors.ink },
  mastheadUnder: { face: 'regular', size: 11, leading: 15, color: colors.quiet },
  quote: { face: 'regular', size: 10, leading: 14, color: colors.ink },
  cell: { face: 'regular', size: 9.5, leading: 12.5, color: colors.ink },
  cellHeader: { face: 'semibold', size: 8.5, leading: 11.5, color: colors.quiet },
  plot: { face: 'regular', size: 8.5, leading: 11, color: colors.quiet },
  footer: { face: 'regular', size: 8.5, leading: 11, color: colors.quiet },
} as const satisfies Record<string, TextStyle>;

export const paperSizes = { Letter: [612, 792], A4: [595.28, 841.89] } as const;
export type Paper = keyof typeof paperSizes;

export const margins = { top: 58, bottom: 64, left: 64, right: 64 } as const;
/** A page whose content must fit on it whole. */
export const tightMargins = { top: 44, bottom: 50, left: 54, right: 54 } as const;
