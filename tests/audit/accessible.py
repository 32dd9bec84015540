#!/usr/bin/env python3
"""Check a report in headless Chromium: axe-core finds nothing serious, the page asks nothing of a network, and
prints on A4 and Letter. By hand: `python3 tests/audit/accessible.py REPORT.html AXE.MIN.JS OUT`; needs chromium and
poppler's pdfinfo and pdftoppm. Pictures of every sheet lie in OUT afterwards: look at them."""
import html
import json
import pathlib
import re
import subprocess
import sys

report, axe, out = map(pathlib.Path, sys.argv[1:4])
out.mkdir(parents=True, exist_ok=True)
page = report.read_text()
CHROMIUM = ["chromium", "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={out}/profile"]


def run(*arguments):
    return subprocess.run([*CHROMIUM, *arguments], capture_output=True, text=True, check=True, timeout=120)


# The policy forbids scripts, so that the checker goes into a copy without it, with everything unfolded.
copy = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", page).replace("<details>", "<details open>")
copy += "<script>" + axe.read_text().replace("</script", "<\\/script") + "</script>"
copy += """<script>axe.run().then(r => { document.body.innerHTML = '<pre id="found"></pre>';
document.getElementById('found').textContent = JSON.stringify(r.violations.map(v =>
[v.id, v.impact, v.help, v.nodes.length, v.nodes[0].html.slice(0, 200)])); });</script>"""
(out / "checked.html").write_text(copy)
dom = run("--virtual-time-budget=20000", "--dump-dom", (out / "checked.html").resolve().as_uri()).stdout
found = re.search(r'<pre id="found">(.*?)</pre>', dom, re.S)
violations = json.loads(html.unescape(found.group(1)))
for violation in violations:
    print("axe:", *violation)

# Whatever the page asks for stands in the net log; the page itself is a file.
log = out / "net.json"
run(f"--log-net-log={log}", "--window-size=1000,1400", f"--screenshot={out}/screen.png", report.resolve().as_uri())
report_urls = set(re.findall(r'"url":"(https?://[^"]+)"', log.read_text()))
# the browser's own calls home go to its maker's hosts; nothing of ours names any host
own = [url for url in report_urls if url in page]
print("asked of the network by the page:", own or "nothing")

pages = {}
for paper, size in [("a4", "210mm 297mm"), ("letter", "8.5in 11in")]:
    sized = page.replace("</style>", f"@page {{ size: {size}; }}</style>")
    (out / f"{paper}.html").write_text(sized)
    pdf = out / f"{paper}.pdf"
    run("--no-pdf-header-footer", f"--print-to-pdf={pdf}", (out / f"{paper}.html").resolve().as_uri())
    told = subprocess.run(["pdfinfo", pdf], capture_output=True, text=True, check=True).stdout
    pages[paper] = int(re.search(r"Pages:\s+(\d+)", told).group(1))
    subprocess.run(["pdftoppm", "-r", "70", "-png", pdf, out / paper], check=True)
print("sheets:", pages)
serious = [v for v in violations if v[1] in ("serious", "critical")]
sys.exit(1 if serious or own else 0)
