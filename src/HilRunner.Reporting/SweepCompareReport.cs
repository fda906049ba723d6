using HilRunner.Reporting.Page;
using HilRunner.Scoring.Sweeping;

namespace HilRunner.Reporting;

/// <summary>Two sweeps of the same motion.</summary>
/// <param name="Notes">In what they differ beside their builds.</param>
public sealed record SweepCompareResult(Sweep Before, Sweep Now, IReadOnlyList<SwitchShift> Shifts, IReadOnlyList<string> Notes)
{
    public bool AnyShifted => Shifts.Any(s => s.Shifted);

    /// <summary>Figures of which nothing can be said.</summary>
    public bool TooFew => !AnyShifted && (Shifts.Count == 0 || Shifts.Any(s => s.Change is null));

    public string Answer
    {
        get
        {
            if (Shifts.Count == 0) { return "neither sweep shows a switching point"; }
            var shifted = Shifts.Where(s => s.Shifted).ToList();
            return shifted.Count > 0 ? $"{shifted.Count} of {Shifts.Count} figures moved: {string.Join("; ", shifted.Take(3).Select(s => SweepWords.Name(s, Now)))}{(shifted.Count > 3 ? " …" : "")}"
                : TooFew ? "too few loops to tell" : "no switching point has moved";
        }
    }
}

/// <summary>The page of two sweeps.</summary>
public static class SweepCompareReport
{
    /// <summary>Writes the whole page; <paramref name="output"/> should encode as UTF-8.</summary>
    public static void Write(SweepCompareResult result, TextWriter output)
    {
        ArgumentNullException.ThrowIfNull(result);
        ArgumentNullException.ThrowIfNull(output);
        var page = new HtmlPage(output);
        page.Begin($"{result.Now.Name}: {SweepWords.Answered(result)}");
        page.Add($"<header>\n<p class=\"kicker\">Two sweeps <span class=\"dot\">·</span> {result.Now.Name} <span class=\"dot\">·</span> {result.Before.Build} <span class=\"dot\">→</span> {result.Now.Build}</p>\n");
        page.Add($"<h1><span class=\"verdict {(result.AnyShifted ? "is-fail" : result.TooFew ? "is-inconc" : "is-pass")}\">{SweepWords.Answered(result)}</span> <span class=\"reason\">{result.Answer}</span></h1>\n</header>\n<main id=\"main\">\n");
        page.BeginSection("figures", "Figure by figure");
        page.Table("Switching points, before and now", ["Figure", "Before", "Now", "Shift", "p", "Outcome"], result.Shifts.Select(s =>
            Markup.Of($"<tr><th scope=\"row\" class=\"words\">{SweepWords.Name(s, result.Now)}</th><td>{SweepWords.Figure(s.Before, result.Now)}</td><td>{SweepWords.Figure(s.Now, result.Now)}</td><td>{SweepWords.Shift(s, result.Now)}</td><td class=\"n\">{SweepWords.P(s)}</td><td class=\"words\">{(s.Shifted ? "moved" : s.Change is null ? "open" : "none shown")}{(s.Why.Length > 0 ? $": {s.Why}" : "")}</td></tr>")));
        page.Add($"<p class=\"quiet\">Welch's t test of the loops before and now, adjusted by Holm's method over all figures. That a switching point moved does not say that it is worse: limits in the plan do.</p>\n");
        foreach (string note in result.Notes) { page.Add($"<p>Note: {note}.</p>\n"); }
        if (result.Before.OnTable || result.Now.OnTable) { TableCaution.Write(page); }
        page.EndSection();
        page.Add($"</main>\n");
        page.End();
    }
}
