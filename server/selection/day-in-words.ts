const writer = new Intl.DateTimeFormat('en-US', { dateStyle: 'long', timeZone: 'UTC' });

/** `December 6, 2031`, as pages and letters write days. @param day such as "2031-12-06" */
export const dayInWords = (day: string): string => writer.format(new Date(`${day}T00:00:00Z`));
