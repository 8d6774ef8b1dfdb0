// What a page is measured by; measured.py says why. One expression: an object of functions.
({
  // everything folded is unfolded, and the browser has laid it out
  unfold() {
    for (const fold of document.querySelectorAll("details:not(.menu)")) fold.open = true;
    return document.fonts.ready.then(() => true);
  },

  openMenus(open) {
    for (const menu of document.querySelectorAll("details.menu")) menu.open = open;
  },

  // the innermost elements that reach over the right edge; what scrolls or is cut within itself doesn't count
  sticksOut() {
    const page = document.documentElement;
    const edge = page.clientWidth;
    if (page.scrollWidth <= edge) return [];
    const isHeld = (one) => {
      for (let up = one.parentElement; up && up !== document.body; up = up.parentElement) {
        if (getComputedStyle(up).overflowX !== "visible") return true;
      }
      return false;
    };
    const out = [...document.body.querySelectorAll("*")].filter((one) => {
      const box = one.getBoundingClientRect();
      return box.width && box.right > edge + 0.5 && !isHeld(one);
    });
    const inner = out.filter((one) => !out.some((other) => other !== one && one.contains(other)));
    return (inner.length ? inner : [document.body]).slice(0, 3).map((one) => {
      const right = Math.round(one.getBoundingClientRect().right);
      return `${one.outerHTML.replace(/\s+/g, " ").slice(0, 140)} (${right} of ${edge})`;
    });
  },

  // what was loaded and not kept from before
  heavy(most) {
    const loaded = ["navigation", "resource"].flatMap((kind) => performance.getEntriesByType(kind));
    const bytes = loaded.reduce((sum, one) => sum + one.transferSize, 0);
    const isHeavy = loaded.length > most.requests || bytes > most.bytes;
    return isHeavy ? [`loads ${bytes} bytes in ${loaded.length} requests`] : [];
  },

  // words in a box that hides what does not fit into it; a button and a chip may not be left by their words either
  cutOff() {
    const holds = (one) => {
      const style = getComputedStyle(one);
      const hides = [style.overflowX, style.overflowY].some((way) => way === "hidden" || way === "clip");
      return hides || one.matches(".button, .chip, .filter");
    };
    const isShown = (one) => one.checkVisibility({ visibilityProperty: true }) && one.clientWidth > 1;
    return [...document.querySelectorAll("body *")]
      .filter((one) => one.innerText?.trim() && holds(one) && isShown(one))
      .filter((one) => one.scrollWidth > one.clientWidth + 1 || one.scrollHeight > one.clientHeight + 1)
      .slice(0, 3)
      .map((one) => one.outerHTML.replace(/\s+/g, " ").slice(0, 140));
  },

  // A link inside a sentence is as high as the sentence: words stand beside it in the same block.
  // A box to tick is as large as the label that ticks it, the link of a row as large as the row.
  tooSmall(least) {
    const isShown = (one) =>
      one.checkVisibility({ visibilityProperty: true, opacityProperty: true }) &&
      !one.closest(".hidden-visually, .skip");
    const blockOf = (one) => {
      let block = one.parentElement;
      while (getComputedStyle(block).display === "inline") block = block.parentElement;
      return block;
    };
    const isInSentence = (link) => {
      if (getComputedStyle(link).display !== "inline") return false;
      const block = blockOf(link);
      const words = document.createTreeWalker(block, NodeFilter.SHOW_TEXT);
      for (let word = words.nextNode(); word; word = words.nextNode()) {
        const isAnother = /[\p{L}\p{N}]/u.test(word.data) && !word.parentElement.closest("a, button");
        if (!isAnother || !isShown(word.parentElement)) continue;
        if (blockOf(word) === block) return true;
      }
      return false;
    };
    const boxesOf = (one) => {
      if (one.matches(".row-link")) return [one.closest("tr, li").getBoundingClientRect()];
      const labels = one.matches("[type=checkbox], [type=radio]") ? [...one.labels] : [];
      return [one, ...labels].map((part) => part.getBoundingClientRect());
    };
    const controls = "a[href], button, summary, select, textarea, input:not([type=hidden])";
    const found = [];
    for (const one of document.querySelectorAll(controls)) {
      if (!isShown(one) || one.disabled || (one.matches("a") && isInSentence(one))) continue;
      const boxes = boxesOf(one);
      const high = Math.max(...boxes.map((box) => box.height));
      const wide = Math.max(...boxes.map((box) => box.width));
      if (high && wide && Math.min(high, wide) < least - 0.5) {
        found.push(`${Math.round(wide)}×${Math.round(high)} ${one.outerHTML.replace(/\s+/g, " ").slice(0, 140)}`);
      }
    }
    return found;
  },

  // how far things jumped since the page was opened, and what jumped
  shifted(most) {
    return new Promise((tell) => {
      let sum = 0;
      const what = [];
      const add = (list) => {
        for (const one of list.filter((shift) => !shift.hadRecentInput)) {
          sum += one.value;
          what.push(...one.sources.map(({ node }) => (node?.outerHTML ?? "?").replace(/\s+/g, " ").slice(0, 80)));
        }
      };
      const watch = new PerformanceObserver((list) => add(list.getEntries()));
      watch.observe({ type: "layout-shift", buffered: true });
      requestAnimationFrame(() => setTimeout(() => {
        add(watch.takeRecords());
        watch.disconnect();
        tell(sum > most ? [`jumps by ${sum.toFixed(2)}: ${what.join(" | ")}`] : []);
      }, 0));
    });
  },
})
