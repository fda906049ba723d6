using System.Globalization;
using HilRunner.Core.Scenarios;
using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;
using HilRunner.Scoring;

namespace HilRunner.Reporting.RunPage;

/// <summary>Time-weighted agreement of one output: the confusion matrix and the figures that follow from it.</summary>
internal static class AgreementSection
{
    public static void Write(HtmlPage page, OutputScore score, int output, string suffix, ScoringRules rules, ClassColours colours)
    {
        page.Add($"<section aria-labelledby=\"agreement-{output}\"><h2 id=\"agreement-{output}\">Agreement{suffix}</h2>\n<div>\n");
        if (score.Strict.ScoredNs == 0) { page.Add($"<p>No time of this run is scored for states.</p>\n</div></section>\n"); return; }
        page.Add($"<div class=\"beside\">\n");
        Matrix(page, score.Strict, rules.GraceNs > 0 ? $"Strict: seconds of each reference class by what the output showed{suffix}" : $"Seconds of each reference class by what the output showed{suffix}", colours);
        if (rules.GraceNs > 0) { Matrix(page, score.Graced, $"Graced: the same without the first {Figure.Nanoseconds(rules.GraceNs)} of each interval{suffix}", colours); }
        page.Add($"</div>\n<div class=\"beside\">\n");
        Figures(page, score, rules, suffix);
        PerClass(page, score, rules, suffix, colours);
        page.Add($"</div>\n");
        page.Add($"</div></section>\n");
    }

    private static void Figures(HtmlPage page, OutputScore score, ScoringRules rules, string suffix)
    {
        (string Name, Func<Agreement, Markup> Figure)[] rows =
        [
            ("accuracy", a => Share(a.Accuracy)), ("balanced accuracy", a => Share(a.BalancedAccuracy)),
            ("Cohen's kappa", a => Coefficient(a.Kappa)), ("Matthews coefficient", a => Coefficient(a.Mcc)),
            ("scored time", a => Markup.Of($"{Figure.Nanoseconds(a.ScoredNs)}")),
        ];
        bool graced = rules.GraceNs > 0;
        page.Table($"Agreement over all classes{suffix}", graced ? ["Figure", "Strict", "Graced"] : ["Figure", "Value"],
            rows.Select(r => Markup.Of($"<tr><th scope=\"row\">{r.Name}</th><td class=\"n\">{r.Figure(score.Strict)}</td>{(graced ? Markup.Of($"<td class=\"n\">{r.Figure(score.Graced)}</td>") : Markup.Empty)}</tr>")), "narrow");
    }

    private static void Matrix(HtmlPage page, Agreement a, string caption, ClassColours colours)
    {
        var rows = colours.Names.Where(a.ConfusionNs.ContainsKey).ToList();
        var columns = new[] { ClassColours.None }.Concat(colours.Names).Where(c => rows.Contains(c) || a.ConfusionNs.Values.Any(r => r.ContainsKey(c))).ToList();
        page.Table(caption, ["Reference ↓ observed →", .. columns, "all"], rows.Select(r => Row(a.ConfusionNs[r], r, columns, colours)), "matrix");
    }

    private static Markup Row(IReadOnlyDictionary<string, long> row, string name, List<string> columns, ClassColours colours)
    {
        long all = row.Values.Sum();
        var cells = columns.Select(c =>
        {
            long ns = row.GetValueOrDefault(c);
            double share = all == 0 ? 0 : (double)ns / all;
            // At most a fifth of the ink: the figure on it keeps its contrast.
            string tint = (share * 20).ToString("0.#", CultureInfo.InvariantCulture);
            string css = c == name ? "n same" : ns == 0 ? "n zero" : "n";
            return Markup.Of($"<td class=\"{css}\" style=\"--tint:{tint}%\">{(ns == 0 ? Markup.Of($"0 s") : Markup.Of($"{Seconds(ns)}<small>{Figure.Share(share)}</small>"))}</td>");
        });
        return Markup.Of($"<tr><th scope=\"row\">{colours.Label(name)}</th>{Markup.Join(cells)}<td class=\"n\">{Seconds(all)}</td></tr>");
    }

    private static void PerClass(HtmlPage page, OutputScore score, ScoringRules rules, string suffix, ClassColours colours)
    {
        bool graced = rules.GraceNs > 0;
        Agreement a = graced ? score.Graced : score.Strict;
        page.Table($"Agreement per class, {(graced ? "graced" : "strict")}{suffix}", ["Class", "Recall", "Precision", "F1"],
            colours.Names.Where(a.PerClass.ContainsKey).Select(c => Markup.Of($"<tr><th scope=\"row\">{colours.Label(c)}</th><td class=\"n\">{Share(a.PerClass[c].Recall)}</td><td class=\"n\">{HtmlPage.FigureOr(Figure.Share(a.PerClass[c].Precision), "the output never showed this class in scored time")}</td><td class=\"n\">{Share(a.PerClass[c].F1)}</td></tr>")), "narrow");
    }

    private static string Seconds(long ns) => (ns / 1e9m).ToString("0.0##", CultureInfo.InvariantCulture) + " s";
    private static Markup Share(double? share) => HtmlPage.FigureOr(Figure.Share(share), "its denominator is 0");
    private static Markup Coefficient(double? value) => HtmlPage.FigureOr(value is { } v ? v.ToString("0.000", CultureInfo.InvariantCulture).Replace('-', '−') : Figure.Absent, "its denominator is 0");
}
