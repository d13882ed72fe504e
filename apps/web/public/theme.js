// Before anything is drawn, so that a dark room is never lit by a light page.
(function () {
  let kept;
  try {
    kept = localStorage.getItem('ebbline.theme');
  } catch {
    kept = null;
  }
  const night = kept === 'night' || (kept !== 'light' && matchMedia('(prefers-color-scheme: dark)').matches);
  document.documentElement.dataset.theme = night ? 'night' : 'light';
  document.documentElement.style.background = night ? '#16100c' : '#f4efe3';
})();
