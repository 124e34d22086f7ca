/** How a number of a workbook is shown: as a number, or as a date or time of day of this form. */
export interface NumberForm {
  date: boolean;
  hours: boolean;
  seconds: boolean;
}

/** The forms that workbooks have without defining them (ECMA-376 part 1, 18.8.30), those with a date or a time. */
const builtIn: Readonly<Record<number, string>> = {
  14: 'mm-dd-yy',
  15: 'd-mmm-yy',
  16: 'd-mmm',
  17: 'mmm-yy',
  18: 'h:mm AM/PM',
  19: 'h:mm:ss AM/PM',
  20: 'h:mm',
  21: 'h:mm:ss',
  22: 'm/d/yy h:mm',
  45: 'mm:ss',
  46: '[h]:mm:ss',
  47: 'mmss.0',
};

/** Undefined for a form that shows plain numbers. `m` beside hours or seconds is minutes, else months. */
export function numberForm(id: number, code = builtIn[id]): NumberForm | undefined {
  if (code === undefined) return undefined;
  const letters = code
    .split(';')[0]!
    .replace(/"[^"]*"|\\.|_.|\*./g, '')
    .replace(/\[(?![hms]+\])[^\]]*\]/gi, '')
    .replace(/general|am\/pm|a\/p/gi, '')
    .toLowerCase();
  const date = /[dy]/.test(letters) || (/m/.test(letters) && !/[hs]/.test(letters));
  if (!date && !/[hs]/.test(letters)) return undefined;
  return { date, hours: letters.includes('h'), seconds: letters.includes('s') };
}

const two = (value: number) => String(value).padStart(2, '0');
const dayLength = 86_400_000;

/** The text that a person would have written for the number: `2026-09-05 14:30`, `12:05`, `1:02:03.5`, `41.62`. */
export function numberText(value: number, form: NumberForm | undefined, dateSystem1904: boolean): string {
  if (form === undefined) return String(value);
  const total = Math.round((value + (form.date && dateSystem1904 ? 1462 : 0)) * dayLength);
  if (form.date) {
    const moment = new Date(Date.UTC(1899, 11, 30) + total).toISOString();
    const [day, time] = [moment.slice(0, 10), moment.slice(11, 23)];
    if (total % dayLength === 0 && !form.hours) return day;
    return `${day} ${time.endsWith(':00.000') ? time.slice(0, 5) : time.replace(/\.?0+$/, '')}`;
  }
  const seconds = Math.floor(total / 1000);
  const [hour, minute] = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60];
  const thousandths = total % 1000;
  const rest = `${two(seconds % 60)}${thousandths === 0 ? '' : `.${String(thousandths).padStart(3, '0').replace(/0+$/, '')}`}`;
  if (!form.seconds && rest === '00') return `${hour}:${two(minute)}`;
  return hour === 0 && !form.hours ? `${minute}:${rest}` : `${hour}:${two(minute)}:${rest}`;
}

/** `_x000D_` and the like in a workbook's texts are characters (ECMA-376 part 1, 22.9.2.19); line ends are made LF. */
export const stringText = (text: string): string =>
  text
    .replace(/_x([0-9A-Fa-f]{4})_/g, (_, code: string) => String.fromCharCode(Number.parseInt(code, 16)))
    .replace(/\r\n?/g, '\n');
