import { type Check, related } from './check.ts';
import { named } from './wording.ts';

const fileOf = (uri: string): string => decodeURIComponent(uri.split('/').at(-1) ?? uri);

const ownRemedy = /^(.*?): ((?:check|name|rename|save|shorten|split) .*)$/s;

export const noFile: Check = {
  code: 'no-file',
  severity: 'error',
  section: 'Getting ready, safety, wording',
  fires: 'a file behind `use` cannot be read.',
  why: 'Every declaration in it is missing, and with it every check on those parts.',
  bad: 'use "no-such-file.fettle"',
  good: 'part bolt "Bolt"',
  *run({ model }) {
    for (const { use, trouble, reason, inner } of model.useTroubles) {
      if (trouble === 'loop') continue;
      const file = named((inner ?? use).path?.value ?? '');
      // Some reasons bring their own remedy; where there is no such file, it is the path.
      const [, why = reason, own] = ownRemedy.exec(reason ?? '') ?? [];
      const mend =
        own === undefined || /such file|folder|regular/.test(why!)
          ? `correct the path, which counts from the folder of ${inner === undefined ? 'this' : 'that'} file`
          : own;
      yield {
        span: use.path ?? use.keyword,
        message: `${inner === undefined ? file : `${file}, which ${named(fileOf(inner.chunk.uri))} uses,`} cannot be read${why === undefined ? '' : ` (${why})`}: ${mend}; names that it may declare are not judged.`,
        related: related(inner?.path, 'by this line'),
      };
    }
  },
};

export const useLoop: Check = {
  code: 'use-loop',
  severity: 'error',
  section: 'Getting ready, safety, wording',
  fires: 'files `use` each other in a loop.',
  why: 'Which of two declarations counts would depend on the file that one opens first.',
  bad: 'use "example.fettle"   # in example.fettle itself',
  good: 'part bolt "Bolt"',
  *run({ model }) {
    for (const { use, trouble, inner } of model.useTroubles) {
      if (trouble !== 'loop') continue;
      const path = use.path?.value ?? '';
      const back = inner?.path?.value ?? path;
      const end = fileOf(back);
      yield {
        span: use.path ?? use.keyword,
        message: `${named(path)} leads back to ${named(end)}: move what both need to a third file.`,
        related: related(inner?.path, 'by this line'),
      };
    }
  },
};
