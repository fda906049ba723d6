using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.RunPage.Timing;

/// <summary>How late each sample went out: in words, as a distribution, over the run, and what the device's credit did to it.</summary>
internal static class PacingPart
{
    public static void Write(HtmlPage page, StoredRun run, Lateness? late)
    {
        page.Add($"<h3>Pacing: how late each sample was sent</h3>\n");
        string credit = PacingWords.Credit(run.Timing, run.Score.Health);
        if (late is null)
        {
            if (credit.Length > 0) { page.Add($"<p>{credit}</p>\n"); }
            string why = run.Playout.Count == 0 ? "no sample was sent" : "no sample had a due time: the device or its credit set the pace";
            page.Add($"<p>{HtmlPage.Absent(why)} Not known: {why}.</p>\n");
            return;
        }
        if (credit.Length > 0) { page.Add(PacingWords.Starved(run.Timing, run.Score.Health) ? Markup.Of($"<p><b>{credit}</b></p>\n") : Markup.Of($"<p>{credit}</p>\n")); }
        var h = run.Score.Health;
        long limit = run.HealthLimits.Late.Ticks * 100;
        string early = late.SortedNs[0] < 0 ? FormattableString.Invariant($" {late.SortedNs.Count(ns => ns < 0)} were sent before they were due.") : "";
        string over = h.Late == 0 ? "none was later than the limit of" : FormattableString.Invariant($"{h.Late} were later than the limit of");
        page.Add($"<p>{late.SortedNs.Length} samples: median {Figure.Nanoseconds(h.LateP50Ns)}, 99 % within {Figure.Nanoseconds(h.LateP99Ns)}, 99.9 % within {Figure.Nanoseconds(h.LateP999Ns)}, latest {Figure.Nanoseconds(h.LateMaxNs)}; {over} {Figure.Nanoseconds(limit)}.{early}</p>\n");
        page.Add($"<div class=\"beside\">\n");
        page.Add(LatenessHistogram.Of(late.SortedNs, h, limit));
        page.Add(LatenessCourse.Of(run, limit));
        page.Add($"</div>\n<details><summary>Distribution of lateness in numbers</summary>\n");
        Table(page, late.SortedNs);
        page.Add($"</details>\n");
    }

    /// <summary>Three bins a decade.</summary>
    private static void Table(HtmlPage page, long[] sortedNs)
    {
        long[] edges = [.. Enumerable.Range(0, 8).SelectMany(d => new[] { 1, 2, 5 }.Select(m => m * (long)Math.Pow(10, d + 3)))];
        var counts = new long[edges.Length + 1];
        foreach (long ns in sortedNs)
        {
            int bin = Array.BinarySearch(edges, ns);
            counts[bin < 0 ? ~bin : bin + 1]++;
        }
        int first = Array.FindIndex(counts, c => c > 0), last = Array.FindLastIndex(counts, c => c > 0);
        page.Table("Distribution of lateness", ["Late by", "Samples", "Share"], Enumerable.Range(first, last - first + 1).Select(b =>
            Markup.Of($"<tr><th scope=\"row\">{Name(b)}</th><td class=\"n\">{counts[b]}</td><td class=\"n\">{Figure.Share((double)counts[b] / sortedNs.Length)}</td></tr>")), "narrow");

        string Name(int b) => b == 0 ? "less than " + Figure.Nanoseconds(edges[0])
            : b == edges.Length ? Figure.Nanoseconds(edges[^1]) + " or more"
            : $"{Figure.Nanoseconds(edges[b - 1])} to {Figure.Nanoseconds(edges[b])}";
    }
}
