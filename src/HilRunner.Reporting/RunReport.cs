using System.Net;

namespace HilRunner.Reporting;

/// <summary>report.html of one run.</summary>
public static class RunReport
{
    public static void Write(StoredRun run, TextWriter output)
    {
        ArgumentNullException.ThrowIfNull(run);
        string reason = run.Score.Reasons.Count > 0 ? run.Score.Reasons[0] : Words.WithoutReason(run.Score.Verdict);
        output.Write($"<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><title>{WebUtility.HtmlEncode(run.Manifest.ScenarioName)}</title>");
        output.Write($"<h1>{Words.Of(run.Score.Verdict)}: {WebUtility.HtmlEncode(reason)}</h1></html>");
    }
}
