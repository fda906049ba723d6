using HilRunner.Cli.Screen.Terminals;
using HilRunner.Reporting;
using HilRunner.Scoring;

namespace HilRunner.Cli.Screen;

/// <summary>A score on the terminal: verdict with reasons, limits, then what was recognised per class, and how late.</summary>
internal static class ScoreTable
{
    public static void Print(Score score, string name)
    {
        string earlier = score.Schema < ScoreJson.Schema ? $" ({DeliveryWords.Earlier})" : "";
        Terminal.Line(VerdictWord.Of(score.Verdict) + earlier + (name.Length == 0 ? "" : "  " + name));
        foreach (string reason in score.Reasons.Take(10).Concat(score.Notes)) { Terminal.Line($"  {reason}"); }
        if (score.Limits.Count > 0)
        {
            var limits = new ScreenTable();
            limits.AddColumns("limit", "measured", "outcome");
            foreach (var limit in score.Limits)
            {
                limits.AddRow(limit.Text, Words.Measured(limit),
                    $"{Words.Of(limit.Outcome)}{(limit.Why.Length == 0 ? "" : ": " + limit.Why)}");
            }
            Terminal.Write(limits);
        }
        foreach (var output in score.Outputs)
        {
            Classes(output);
            LatencyTable.Print([output], output.Output);
        }
    }

    private static void Classes(OutputScore output)
    {
        var table = new ScreenTable();
        if (output.Output.Length > 0) { table.Title(output.Output); }
        table.AddColumns("class", "recognised", "recall", "precision", "F1");
        foreach (var trials in output.Trials.GroupBy(t => t.Class).OrderBy(g => g.Key, StringComparer.Ordinal))
        {
            var counted = trials.Where(t => t.Counted).ToArray();
            var agreement = output.Graced.PerClass.GetValueOrDefault(trials.Key);
            table.AddRow(
                trials.Key, $"{counted.Count(t => t.Recognised)} of {counted.Length}",
                Figure.Share(agreement?.Recall), Figure.Share(agreement?.Precision), Figure.Share(agreement?.F1));
        }
        Terminal.Write(table);
    }
}
