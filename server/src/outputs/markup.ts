const signs: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' };

/** Characters that XML 1.0 (2.2) forbids, lone surrogates among them, and bidi controls, which can hide text. */
const forbidden =
  // biome-ignore lint/suspicious/noControlCharactersInRegex: these are the characters to take out
  /[\u0000-\u0008\u000B\u000C\u000E-\u001F\u007F\u202A-\u202E\u2066-\u2069\uFFFE\uFFFF]|[\uD800-\uDBFF](?![\uDC00-\uDFFF])|(?<![\uD800-\uDBFF])[\uDC00-\uDFFF]/g;

/** Text for HTML, SVG or XML, in content and in quoted attributes. */
export const escapeMarkup = (text: string): string =>
  text.replace(forbidden, '\uFFFD').replace(/[&<>"']/g, (sign) => signs[sign]!);
