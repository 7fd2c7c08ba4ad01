/** A twin of the grammar in Langium: parse, link and validate, as its own command line does. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { URI } from 'langium';
import { createServicesForGrammar } from 'langium/grammar';

export interface Twin {
  /** Number of findings. */
  judge(text: string): Promise<number>;
}

export async function makeTwin(): Promise<Twin> {
  const services = await createServicesForGrammar({
    grammar: readFileSync(join(import.meta.dirname, 'twin.langium'), 'utf8'),
    languageMetaData: { languageId: 'twin', fileExtensions: ['.twin'], caseInsensitive: false, mode: 'production' },
  });
  const {
    LangiumDocumentFactory: factory,
    LangiumDocuments: documents,
    DocumentBuilder: builder,
  } = services.shared.workspace;
  let count = 0;
  return {
    async judge(text) {
      const document = factory.fromString(text, URI.parse(`file:///twin-${++count}.twin`));
      documents.addDocument(document);
      await builder.build([document], { validation: true });
      const found = document.diagnostics?.length ?? 0;
      await builder.update([], [document.uri]);
      return found;
    },
  };
}
