/** The day `seconds` before another, rounded to the earlier one; nothing where the calendar ends. */
export function daysBefore(day: string | undefined, seconds: number): string | undefined {
  if (day === undefined) return undefined;
  const time = Date.parse(`${day}T00:00:00Z`) - Math.ceil(seconds / 86400 - 1e-9) * 86_400_000;
  const date = new Date(time);
  return Number.isNaN(date.getTime()) || date.getUTCFullYear() < 0 || date.getUTCFullYear() > 9999
    ? undefined
    : date.toISOString().slice(0, 10);
}

/** True for a day of the calendar written `YYYY-MM-DD`. */
export function isDay(text: string): boolean {
  const time = /^\d{4}-\d{2}-\d{2}$/.test(text) ? Date.parse(`${text}T00:00:00Z`) : Number.NaN;
  return !Number.isNaN(time) && new Date(time).toISOString().startsWith(text);
}
