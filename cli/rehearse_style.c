/*
 * The style sheet. Each kind of message has a colour and a letter, so that neither is needed to
 * tell them apart; on paper and in the dark the same names have other colours.
 */
#include "rehearse_style.h"

#include <stddef.h>

const char *const page_style[] = {
    ":root{color-scheme:light dark;--paper:#f4f1e9;--card:#fffdf7;--ink:#1c2a33;--soft:#5a6870;"
    "--line:#ddd7c8;--fine:#ece7da;--film:#2e7d84;--wet:#fffdf7;--now:#b3261e;"
    "--handover:#4b5d70;--wash:#1f74ad;--care:#35803f;--mileage:#7654b4;--top-up:#b85c12;"
    "--look-over:#ad3458;--booking:#85670f}\n",
    "@media screen and (prefers-color-scheme:dark){:root{--paper:#0f171c;--card:#172229;--ink:#e5ebe8;"
    "--soft:#9aa9b0;--line:#2c3b44;--fine:#21303a;--film:#4aa9b0;--wet:#172229;--now:#ff8a7a;"
    "--handover:#a3b6cb;--wash:#67b5ee;--care:#70c67e;--mileage:#b9a2f2;--top-up:#f0a05a;"
    "--look-over:#f08aa8;--booking:#d9ba5c}}\n",
    "*{box-sizing:border-box}\n",
    "body{margin:0;background:var(--paper);color:var(--ink);"
    "font:16px/1.45 system-ui,-apple-system,\"Segoe UI\",\"DejaVu Sans\",sans-serif}\n",
    "main{max-width:72rem;margin:0 auto;padding:1.5rem 1rem 3rem}\n",
    "header p{margin:.35rem 0;color:var(--soft);max-width:44rem}\n",
    "header .shop{display:flex;align-items:center;gap:.6rem;color:var(--film);font-weight:650;"
    "margin-bottom:.4rem}\n",
    "header .shop svg{flex:none}\n",
    "h1{font-size:clamp(1.5rem,5.5vw,2.4rem);line-height:1.12;letter-spacing:-.02em;margin:0;"
    "text-wrap:balance}\n",
    "h2{font-size:1.12rem;line-height:1.25;margin:0}\n",
    "h1,h2,.shop{overflow-wrap:anywhere}\n",
    "h2 .owner{font-weight:400;color:var(--soft);margin-left:.5rem}\n",
    "section{margin-top:1.1rem;background:var(--card);border:1px solid var(--line);"
    "border-radius:14px;padding:.9rem 1rem 1rem;overflow:hidden}\n",
    ".figures{display:grid;grid-template-columns:repeat(auto-fit,minmax(9.5rem,1fr));gap:.6rem;"
    "margin:1.2rem 0 0;padding:0}\n",
    ".figures div{border-top:3px solid var(--film);padding:.35rem 0 0}\n",
    ".figures dt{font-size:.84rem;color:var(--soft)}\n",
    ".figures dd{margin:0;font-size:1.75rem;font-weight:650;line-height:1.1;"
    "font-variant-numeric:tabular-nums}\n",
    ".legend{display:flex;flex-wrap:wrap;gap:.3rem 1rem;margin:.8rem 0 0;padding:0;"
    "list-style:none;font-size:.86rem;color:var(--soft)}\n",
    ".legend li{display:flex;align-items:center;gap:.35rem}\n",
    "svg{display:block;overflow:visible}\n",
    "svg.shared{position:absolute}\n",
    "svg.inline,svg.sample{display:inline-block;vertical-align:-4px;flex:none}\n",
    "svg.film,svg.sample,svg.name{overflow:hidden}\n",
    "svg.lane,svg.months{margin-top:.5rem}\n",
    "svg text{fill:var(--ink);font-size:12.5px}\n",
    ".axis text{fill:var(--soft);font-size:11px}\n",
    ".axis text.year{fill:var(--ink);font-weight:700}\n",
    ".axis line{stroke:var(--fine)}\n",
    ".axis line.year{stroke:var(--line);stroke-width:2}\n",
    ".axis line.fine{stroke:none}\n",
    ".axis line.now{stroke:var(--now);stroke-width:1.5;stroke-dasharray:2 3}\n",
    ".string{stroke:var(--soft);stroke-width:1.5;opacity:.55}\n",
    ".stem{stroke:var(--soft);opacity:.55}\n",
    ".bead circle{fill:currentColor;stroke:var(--card);stroke-width:1.5}\n",
    ".bead text{fill:var(--card);font-size:10px;font-weight:700;text-anchor:middle}\n",
    ".hand circle{fill:var(--card);stroke:currentColor;stroke-width:2}\n",
    ".hand text{fill:currentColor}\n",
    ".lapse{stroke:var(--soft);stroke-width:1.6;fill:none}\n",
    ".name,.life{paint-order:stroke;stroke:var(--card);stroke-width:4px;stroke-linejoin:round;"
    "unicode-bidi:isolate}\n",
    "svg text.life{fill:var(--soft);text-anchor:end;font-size:11.5px}\n",
    ".place{fill:var(--soft)}\n",
    ".film rect{shape-rendering:crispEdges}\n",
    ".film rect.whole{fill:var(--film)}\n",
    "stop.full{stop-color:var(--film)}\n",
    "stop.worn{stop-color:var(--film);stop-opacity:.08}\n",
    "rect.wet{fill:var(--wet);opacity:.75}\n",
    "line.likely{stroke:var(--ink);stroke-width:1.5}\n",
    "line.ended{stroke:var(--ink);stroke-width:3}\n",
    ".k-handover{color:var(--handover);fill:var(--handover)}\n",
    ".k-wash{color:var(--wash);fill:var(--wash)}\n",
    ".k-care{color:var(--care);fill:var(--care)}\n",
    ".k-mileage{color:var(--mileage);fill:var(--mileage)}\n",
    ".k-top-up{color:var(--top-up);fill:var(--top-up)}\n",
    ".k-look-over{color:var(--look-over);fill:var(--look-over)}\n",
    ".k-booking{color:var(--booking);fill:var(--booking)}\n",
    ".months>text{text-anchor:middle;font-size:11.5px;font-weight:650}\n",
    "ol{list-style:none;margin:.7rem 0 0;padding:0;columns:25rem;column-gap:2rem;"
    "font-size:.9rem}\n",
    "ol li{display:grid;grid-template-columns:18px 1fr;gap:.5rem;padding:.22rem 0;"
    "break-inside:avoid}\n",
    "ol time{font-weight:600;white-space:nowrap;font-variant-numeric:tabular-nums}\n",
    "ol .line{display:block;color:var(--soft);overflow-wrap:anywhere}\n",
    "ol .cross{color:var(--soft);text-align:center}\n",
    ".none{color:var(--soft);font-size:.9rem;margin:.6rem 0 0}\n",
    "footer{margin-top:1.4rem;color:var(--soft);font-size:.86rem}\n",
    "@media (min-width:640px),print{text.narrow:not(.wide),text.brief{display:none}"
    ".axis line.narrow{stroke:none}}\n",
    "@media screen and (max-width:639px){text.wide:not(.narrow),svg text.life:not(.brief),.many>text{display:none}"
    "svg.lane text.name,svg.lane text.life{font-size:11.5px}"
    "main{padding:1rem .6rem 2rem}section{padding:.8rem .7rem}"
    "h2 .owner{display:block;margin:0;font-size:.9rem}}\n",
    "@media screen{section.car{content-visibility:auto;contain-intrinsic-size:auto 22rem}}\n",
    "@page{size:A4;margin:12mm}\n",
    "@media print{:root{--paper:#fff;--card:#fff;--ink:#000;--soft:#444;--line:#bbb;"
    "--fine:#ddd;--wet:#fff}*{print-color-adjust:exact;-webkit-print-color-adjust:exact}"
    "html{font-size:12px}body{font-size:10pt}main{padding:0;max-width:none}"
    "section{border:0;border-top:1px solid var(--line);border-radius:0;padding:.6rem .5rem 0}"
    "h2,svg.lane{break-after:avoid}ol{columns:2}}\n",
    NULL};
