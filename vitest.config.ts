import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts'],
    exclude: ['tests/editor/**', 'node_modules/**', '.cache/**'],
    testTimeout: 60_000,
  },
});
