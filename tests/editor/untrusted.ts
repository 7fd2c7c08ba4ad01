import { checkBeside } from './beside.ts';
import { compareProblems } from './problems.ts';

/** The suite's workspace in restricted mode: the editor trusts every workspace in which it runs a suite. Throws where a finding is missing. */
export async function checkUntrusted(vsix: string): Promise<void> {
  await compareProblems(
    vsix,
    { 'security.workspace.trust.startupPrompt': 'never' },
    {
      trusted: false,
      look: async (page) => {
        await page.getByRole('button', { name: 'Restricted Mode' }).first().waitFor();
        await checkBeside(page);
      },
    },
  );
  console.log('Restricted mode: the same findings, the card beside');
}
