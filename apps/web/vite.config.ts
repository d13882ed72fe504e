import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import react from '@vitejs/plugin-react';
import { defineConfig, transformWithOxc, type Plugin } from 'vite';

/** After everything is built: writes the service worker with the list of files and a name made from their contents. */
function offline(): Plugin {
  return {
    name: 'offline',
    apply: 'build',
    enforce: 'post',
    async generateBundle(_options, bundle) {
      const publicFiles = ['/theme.js', '/mark.svg', '/app.webmanifest'];
      const built = Object.keys(bundle).filter(
        (name) => !name.endsWith('.map') && name !== 'index.html' && name !== 'sw.js',
      );
      const files = ['/', ...publicFiles, ...built.map((name) => `/${name}`).sort()];
      const hash = createHash('sha256');
      for (const name of Object.keys(bundle).sort()) {
        const part = bundle[name];
        hash.update(name).update(part?.type === 'chunk' ? part.code : (part?.source ?? ''));
      }
      for (const name of publicFiles) hash.update(readFileSync(new URL(`./public${name}`, import.meta.url)));
      const source = readFileSync(new URL('./src/worker/service-worker.ts', import.meta.url), 'utf8');
      const { code } = await transformWithOxc(source, 'service-worker.ts', { lang: 'ts' });
      const written = code
        .replaceAll('__BUILD__', JSON.stringify(hash.digest('hex').slice(0, 12)))
        .replaceAll('__FILES__', JSON.stringify(files))
        .replace(/export\s*\{\s*\};?/, '');
      this.emitFile({ type: 'asset', fileName: 'sw.js', source: written });
    },
  };
}

export default defineConfig({
  root: import.meta.dirname,
  plugins: [react(), offline()],
  build: {
    target: 'es2023',
    outDir: 'dist',
    emptyOutDir: true,
    sourcemap: false,
    // Fonts stay files of their own, so that the style sheet is small and they are kept once.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    // The largest part is an image codec, fetched only when a compressed picture is opened.
    chunkSizeWarningLimit: 1500,
  },
  server: { port: 5173, proxy: { '/api': 'http://127.0.0.1:8080' } },
});
