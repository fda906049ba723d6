using HilRunner.Reporting;
using HilRunner.Scoring;
using Spectre.Console;

namespace HilRunner.Cli.Screen;

/// <summary>A score on the terminal: verdict with reasons, limits, then what was recognised per class, and how late.</summary>
internal static class ScoreTable
{
    public static void Print(Score score, string name)
    {
        string earlier = score.Schema < ScoreJson.Schema ? $" ({DeliveryWords.Earlier})" : "";
        AnsiConsole.MarkupLine($"{VerdictMarkup.Of(score.Verdict)}{earlier}{(name.Length == 0 ? "" : "  " + Markup.Escape(name))}");
        foreach (string reason in score.Reasons.Take(10).Concat(score.Notes)) { AnsiConsole.MarkupLine($"  {Markup.Escape(reason)}"); }
        if (score.Limits.Count > 0)
        {
            var limits = new Table().Border(TableBorder.Simple);
            limits.AddColumns("limit", "measured", "outcome");
            foreach (var limit in score.Limits)
            {
                limits.AddRow(Markup.Escape(limit.Text), Markup.Escape(Words.Measured(limit)), Markup.Escape($"{Words.Of(limit.Outcome)}{(limit.Why.Length == 0 ? "" : ": " + limit.Why)}"));
            }
            AnsiConsole.Write(limits);
        }
        foreach (var output in score.Outputs)
        {
            Classes(output);
            LatencyTable.Print([output], output.Output);
        }
    }

    private static void Classes(OutputScore output)
    {
        var table = new Table().Border(TableBorder.Simple);
        if (output.Output.Length > 0) { table.Title(Markup.Escape(output.Output)); }
        table.AddColumns("class", "recognised", "recall", "precision", "F1");
        foreach (var trials in output.Trials.GroupBy(t => t.Class).OrderBy(g => g.Key, StringComparer.Ordinal))
        {
            var counted = trials.Where(t => t.Counted).ToArray();
            var agreement = output.Graced.PerClass.GetValueOrDefault(trials.Key);
            table.AddRow(
                Markup.Escape(trials.Key), $"{counted.Count(t => t.Recognised)} of {counted.Length}",
                Figure.Share(agreement?.Recall), Figure.Share(agreement?.Precision), Figure.Share(agreement?.F1));
        }
        AnsiConsole.Write(table);
    }
}
