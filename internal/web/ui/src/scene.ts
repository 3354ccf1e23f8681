// The place in 3-D: tank, water, lamp at its height, light on the planes, and the edges of each lens's light.
import {
  AmbientLight, BoxGeometry, BufferGeometry, CanvasTexture, Color, DirectionalLight, DoubleSide, EdgesGeometry, Float32BufferAttribute, Group,
  LineBasicMaterial, LineSegments, Mesh, MeshBasicMaterial, MeshLambertMaterial, NearestFilter, PerspectiveCamera, PlaneGeometry, Scene,
  SRGBColorSpace, Vector3, WebGLRenderer, CylinderGeometry,
} from 'three';
import { Lamp, LightMap } from './api';
import { lightTable, paint } from './ramp';

export function build(box: HTMLElement) {
  const renderer = new WebGLRenderer({ antialias: true, alpha: true });
  renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
  box.append(renderer.domElement);
  const scene = new Scene(), camera = new PerspectiveCamera(38, 1, 0.01, 50);
  scene.add(new AmbientLight(0xffffff, 1.6));
  const sun = new DirectionalLight(0xffffff, 1.4);
  sun.position.set(1, 2, 1.5);
  scene.add(sun);
  let things = new Group();
  let yaw = 0.6, pitch = 0.35, reach = 2, size = 1;
  const middle = new Vector3();
  const css = (name: string) => new Color(getComputedStyle(document.documentElement).getPropertyValue(name).trim());

  let frame = 0;
  const draw = () => {
    cancelAnimationFrame(frame);
    frame = requestAnimationFrame(() => {
      const w = box.clientWidth, h = box.clientHeight;
      if (w === 0 || h === 0) return;
      renderer.setSize(w, h, false);
      camera.aspect = w / h;
      const d = reach * size * Math.max(1, 1.1 / camera.aspect);
      camera.position.set(middle.x + d * Math.cos(pitch) * Math.sin(yaw), middle.y + d * Math.sin(pitch), middle.z + d * Math.cos(pitch) * Math.cos(yaw));
      camera.lookAt(middle);
      camera.updateProjectionMatrix();
      renderer.render(scene, camera);
    });
  };
  const turn = (dy: number, dp: number) => { yaw += dy; pitch = Math.min(1.5, Math.max(-0.3, pitch + dp)); draw(); };
  const near = (by: number) => { reach = Math.min(6, Math.max(0.6, reach * by)); draw(); };

  const fingers = new Map<number, [number, number]>();
  const el = renderer.domElement;
  const spread = () => { const [a, b] = [...fingers.values()]; return a && b ? Math.hypot(a[0] - b[0], a[1] - b[1]) : 0; };
  el.addEventListener('pointerdown', (e) => { fingers.set(e.pointerId, [e.clientX, e.clientY]); el.setPointerCapture(e.pointerId); });
  el.addEventListener('pointermove', (e) => {
    const was = fingers.get(e.pointerId);
    if (!was) return;
    const before = spread();
    fingers.set(e.pointerId, [e.clientX, e.clientY]);
    if (fingers.size === 1) turn(-(e.clientX - was[0]) * 0.008, (e.clientY - was[1]) * 0.006);
    else if (before > 0 && spread() > 0) near(before / spread());
  });
  for (const end of ['pointerup', 'pointercancel'] as const) el.addEventListener(end, (e) => fingers.delete(e.pointerId));
  el.addEventListener('wheel', (e) => { e.preventDefault(); near(Math.exp(e.deltaY * 0.001)); }, { passive: false });
  const watch = new ResizeObserver(draw);
  watch.observe(box);
  const dark = matchMedia('(prefers-color-scheme: dark)');
  let shown: Lamp | null = null;
  const theme = () => { if (shown) show(shown); };
  dark.addEventListener('change', theme);

  const free = (g: Group) => g.traverse((o) => {
    const m = o as Mesh;
    m.geometry?.dispose();
    const material = m.material as MeshBasicMaterial | undefined;
    material?.map?.dispose();
    material?.dispose();
  });

  function level(m: LightMap, y: number, opacity: number) {
    const c = document.createElement('canvas');
    paint(c, m.nx, m.ny, m.ppfd, 0, Math.max(...m.ppfd), lightTable, () => true);
    const texture = new CanvasTexture(c);
    texture.magFilter = NearestFilter;
    texture.colorSpace = SRGBColorSpace;
    const p = new Mesh(new PlaneGeometry(m.length_m, m.width_m), new MeshBasicMaterial({ map: texture, side: DoubleSide, transparent: opacity < 1, opacity, depthWrite: opacity === 1 }));
    p.rotation.x = -Math.PI / 2;
    p.position.y = y;
    return p;
  }
  function edges(w: number, h: number, d: number, y: number, colour: Color) {
    const b = new BoxGeometry(w, h, d);
    const e = new LineSegments(new EdgesGeometry(b), new LineBasicMaterial({ color: colour }));
    b.dispose();
    e.position.y = y;
    return e;
  }

  function show(l: Lamp) {
    shown = l;
    scene.remove(things);
    free(things);
    things = new Group();
    const p = l.place, b = l.board;
    const lens = Math.max(p.water_m, p.substrate_m) + p.hanging_m;
    const top = p.kind === 'tank' ? p.height_m : 0.005;
    const ink = css('--lw-ink'), water = css('--lw-water');
    things.add(edges(p.length_m, top, p.width_m, top / 2, ink));
    if (p.kind === 'tank' && p.substrate_m > 0) {
      const g = new Mesh(new BoxGeometry(p.length_m, p.substrate_m, p.width_m), new MeshLambertMaterial({ color: css('--lw-ground') }));
      g.position.y = p.substrate_m / 2 - 0.001;
      things.add(g);
    }
    if (p.water_m > p.substrate_m) {
      const h = p.water_m - p.substrate_m;
      const w = new Mesh(new BoxGeometry(p.length_m, h, p.width_m), new MeshBasicMaterial({ color: water, transparent: true, opacity: 0.22, depthWrite: false }));
      w.position.y = p.substrate_m + h / 2;
      things.add(w);
    }
    l.maps.forEach((m, i) => things.add(level(m, i === 0 ? p.substrate_m + 0.001 : p.water_m, i === 0 ? 1 : 0.45)));
    const sink = new Mesh(new BoxGeometry(b.contact_length_m, 0.03, b.contact_width_m), new MeshLambertMaterial({ color: css('--lw-loss') }));
    sink.position.set(p.offset_x_m + b.contact_x_m, lens + 0.035, -(p.offset_y_m + b.contact_y_m));
    things.add(sink);
    const plate = b.shape === 'disc' ? new CylinderGeometry(b.length_m / 2, b.length_m / 2, 0.004, 48) : new BoxGeometry(b.length_m, 0.004, b.width_m);
    const board = new Mesh(plate, new MeshLambertMaterial({ color: css('--lw-soft') }));
    board.position.set(p.offset_x_m, lens + 0.016, -p.offset_y_m);
    things.add(board);
    // Edges of half the intensity, straight in air, down to the water or the target.
    const fall = p.hanging_m;
    for (const e of l.emitters) {
      const colour = new Color(l.channels.find((c) => c.name === e.channel)?.colour ?? '#888');
      const x = p.offset_x_m + e.x_m, z = -(p.offset_y_m + e.y_m);
      const d = new Mesh(new CylinderGeometry(0.004, 0.006, 0.012, 16), new MeshBasicMaterial({ color: colour }));
      d.position.set(x, lens + 0.007, z);
      things.add(d);
      const r = fall * Math.tan(Math.min(e.beam_rad / 2, 1.4)), points: number[] = [], n = 32;
      for (let k = 0; k < n; k++) {
        const a = (2 * Math.PI * k) / n, a2 = (2 * Math.PI * (k + 1)) / n;
        points.push(x + r * Math.cos(a), lens - fall, z + r * Math.sin(a), x + r * Math.cos(a2), lens - fall, z + r * Math.sin(a2));
        if (k % 8 === 0) points.push(x, lens, z, x + r * Math.cos(a), lens - fall, z + r * Math.sin(a));
      }
      const g = new BufferGeometry();
      g.setAttribute('position', new Float32BufferAttribute(points, 3));
      things.add(new LineSegments(g, new LineBasicMaterial({ color: colour, transparent: true, opacity: 0.65 })));
    }
    const floor = new Mesh(new PlaneGeometry(4 * p.length_m, 4 * p.width_m), new MeshLambertMaterial({ color: css('--lw-panel'), side: DoubleSide }));
    floor.rotation.x = -Math.PI / 2;
    floor.position.y = -0.008;
    things.add(floor);
    scene.add(things);
    size = Math.max(p.length_m, p.width_m, lens);
    middle.set(0, lens * 0.45, 0);
    draw();
  }
  return {
    show, turn, near,
    end() { cancelAnimationFrame(frame); watch.disconnect(); dark.removeEventListener('change', theme); free(things); renderer.dispose(); },
  };
}
