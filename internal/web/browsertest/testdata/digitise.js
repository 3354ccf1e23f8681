// Functions of the tests of the digitiser, as window.lw.
window.lw = {
  // draw makes a picture of lines and puts it into window.diagramFile; it returns its size in bytes.
  async draw(wide, high, lines) {
    const c = document.createElement('canvas');
    c.width = wide;
    c.height = high;
    const g = c.getContext('2d');
    g.fillStyle = '#fff';
    g.fillRect(0, 0, wide, high);
    for (const { colour, width, points } of lines) {
      g.strokeStyle = colour;
      g.lineWidth = width;
      g.beginPath();
      points.forEach(([x, y], i) => (i ? g.lineTo(x, y) : g.moveTo(x, y)));
      g.stroke();
    }
    const blob = await new Promise((r) => c.toBlob(r, 'image/png'));
    window.diagramFile = new File([blob], 'diagram.png', { type: 'image/png' });
    return blob.size;
  },
  drop(selector, file) {
    const dataTransfer = new DataTransfer(), to = document.querySelector(selector);
    dataTransfer.items.add(file);
    for (const kind of ['dragenter', 'dragover', 'drop']) to.dispatchEvent(new DragEvent(kind, { bubbles: true, cancelable: true, dataTransfer }));
  },
  // click sets points of the picture, at whole pixels of the screen, while all of the picture is in sight.
  click(wide, high, points) {
    const c = document.querySelector('.diagram'), r = c.getBoundingClientRect();
    c.setPointerCapture = () => {};
    const s = Math.min((c.clientWidth - 16) / wide, (c.clientHeight - 16) / high);
    const left = r.left + c.clientLeft + (c.clientWidth - wide * s) / 2, top = r.top + c.clientTop + (c.clientHeight - high * s) / 2;
    for (const [px, py] of points) {
      const at = { bubbles: true, pointerId: 1, button: 0, clientX: Math.round(left + s * px), clientY: Math.round(top + s * py) };
      for (const kind of ['pointermove', 'pointerdown', 'pointerup']) c.dispatchEvent(new PointerEvent(kind, at));
    }
  },
  choose(id, value) {
    const s = document.getElementById(id);
    s.value = value;
    s.dispatchEvent(new Event('change', { bubbles: true }));
  },
  select(id) {
    const f = document.getElementById(id);
    f.focus();
    f.select();
  },
  rows: () => document.querySelectorAll('.digitiser-side tbody tr').length,
  text: (selector) => document.querySelector(selector)?.textContent ?? '',
  // png is the first bytes of a picture of a size.
  png(wide, high) {
    const b = new Uint8Array(29);
    b.set([137, 80, 78, 71, 13, 10, 26, 10, 0, 0, 0, 13, 73, 72, 68, 82]);
    new DataView(b.buffer).setUint32(16, wide);
    new DataView(b.buffer).setUint32(20, high);
    b.set([8, 6], 24);
    return new File([b], 'huge.png', { type: 'image/png' });
  },
};
