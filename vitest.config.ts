import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['packages/**/*.test.ts', 'apps/**/*.test.{ts,tsx}', 'conformance/**/*.test.ts', 'faults/**/*.test.ts', 'scripts/**/*.test.ts'],
    exclude: ['**/node_modules/**', '**/dist/**', 'apps/web/e2e/**'],
    setupFiles: ['./scripts/test-setup.ts'],
    pool: 'threads',
    isolate: false,
    maxWorkers: 2,
    testTimeout: 30_000,
  },
});
