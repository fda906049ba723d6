using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;
using HilRunner.Reporting.RunPage;
using HilRunner.Reporting.RunPage.Table;
using HilRunner.Reporting.RunPage.Timing;
using HilRunner.Scoring;

namespace HilRunner.Reporting;

/// <summary>
/// report.html of one run: one file that needs nothing from outside, in the order in which a doubter would ask. Everything in it
/// comes from the run's folder.
/// </summary>
public static class RunReport
{
    /// <summary>Writes the whole page; <paramref name="output"/> should encode as UTF-8.</summary>
    public static void Write(StoredRun run, TextWriter output)
    {
        ArgumentNullException.ThrowIfNull(run);
        ArgumentNullException.ThrowIfNull(output);
        var colours = new ClassColours(run);
        var model = new AxisModel(run, colours);
        var page = new HtmlPage(output);
        page.Begin($"{Words.Of(run.Score.Verdict)}: {run.Manifest.ScenarioName}");
        Headline.Write(page, run, colours);
        page.Add($"<main id=\"main\">\n");
        LimitsSection.Write(page, run, colours);
        AxisSection.Write(page, model);
        for (int i = 0; i < run.Score.Outputs.Count; i++)
        {
            OutputScore score = run.Score.Outputs[i];
            string suffix = run.Score.Outputs.Count > 1 ? ": " + (score.Output.Length == 0 ? "unnamed output" : score.Output) : "";
            var timeline = model.Outputs.First(o => o.Name == score.Output).Timeline;
            TrialsSection.Write(page, score, i, suffix, colours);
            AgreementSection.Write(page, score, i, suffix, run.Rules, colours);
            LatencySection.Write(page, run, score, i, suffix, colours);
            EventsSection.Write(page, score, i, suffix, colours);
            ChangesSection.Write(page, score, i, suffix, timeline, colours);
        }
        HandSection.Write(page, run, colours);
        TableSection.Write(page, run);
        TimingSection.Write(page, model);
        DeliverySection.Write(page, run);
        RigSection.Write(page, run);
        IdentitySection.Write(page, run);
        ReadingSection.Write(page, run);
        page.Add($"</main>\n");
        page.Script("axis.js");
        page.End();
    }
}
