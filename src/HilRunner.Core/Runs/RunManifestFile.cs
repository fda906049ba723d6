using System.Globalization;
using HilRunner.Core.Documents;
using HilRunner.Core.Files;
using HilRunner.Core.Time;

namespace HilRunner.Core.Runs;

/// <summary>Reads and writes run.yaml. The texts of scenario and rig stand in it as they were, so that nothing else is needed to score again.</summary>
public static class RunManifestFile
{
    /// <summary>Longest run.yaml in bytes: it holds two documents.</summary>
    private const long Longest = 32 << 20;

    /// <summary>Whole or not at all: a kill leaves the file of before.</summary>
    /// <exception cref="IOException">The file cannot be written.</exception>
    public static void Write(string path, RunManifest run) => AtomicFile.WriteText(path, output => Write(output, run));

    /// <exception cref="BadInputException">The file cannot be read or used; holds every fault, with its place.</exception>
    public static RunManifest Read(string path) =>
        DocumentReader.Parse(RunManifestShape.Shape, PlainFile.ReadText(path, Longest), path, stored: true);

    private static void Write(TextWriter output, RunManifest run)
    {
        var yaml = new YamlLines(output);
        yaml.Text("run", run.Id);
        yaml.Raw("started", Moment(run.Started));
        yaml.Raw("ended", run.Ended is { } ended ? Moment(ended) : null);
        yaml.Raw("complete", run.Complete ? "true" : "false");
        yaml.Text("end_cause", run.EndCause);
        yaml.Text("expected_sha256", run.ExpectedSha256);
        yaml.Text("tool_version", run.ToolVersion);
        yaml.Text("host", run.Host);
        yaml.Text("scenario_name", run.ScenarioName);
        yaml.Text("rig_name", run.RigName);
        yaml.Text("link", run.Link);
        yaml.Text("suite", run.Suite);
        yaml.Raw("repeat", Number(run.Repeat));
        yaml.Raw("seed", run.Seed.ToString(CultureInfo.InvariantCulture));
        yaml.Raw("hold", run.HoldNs is { } hold ? new StimulusTime(hold).ToString() : null);
        if (run.Variation is { } variation)
        {
            yaml.Map("variation", inner =>
            {
                inner.Text("of", variation.Of);
                inner.Raw("sampled", variation.Sampled ? "true" : "false");
                inner.List("values", variation.Values, (item, varied) =>
                {
                    item.Text("parameter", varied.Parameter.Key);
                    item.Raw("value", varied.Parameter.Write(varied.Value));
                });
            });
        }
        yaml.Text("speed", run.Speed);
        yaml.Raw("by_hand", run.ByHand ? "true" : null);
        yaml.Raw("on_table", run.OnTable ? "true" : null);
        if (run.Build != new BuildIdentity(null, null, null))
        {
            yaml.Map("build", inner =>
            {
                inner.Text("label", run.Build.Label);
                inner.Text("image", run.Build.Image);
                inner.Text("sha256", run.Build.Sha256);
            });
        }
        yaml.List("identity", run.Identity, (item, said) =>
        {
            item.Text("name", said.Key);
            item.Text("value", said.Value);
        });
        yaml.Raw("rate", Rate(run.Rate));
        yaml.Raw("samples", Number(run.Samples));
        yaml.Raw("lead_samples", Number(run.LeadSamples));
        yaml.Raw("channels", $"[{string.Join(", ", run.Channels.Select(YamlText.Inline))}]");
        yaml.Raw("clipped", $"[{string.Join(", ", run.Clipped.Select(Number))}]");
        yaml.List("sources", run.Sources, (item, source) =>
        {
            item.Text("path", source.Path);
            item.Text("sha256", source.Sha256);
            item.Raw("rate", source.Info.Rate is { } rate ? Rate(rate) : null);
            item.Raw("range_g", source.Info.RangeG?.ToString("R", CultureInfo.InvariantCulture));
            item.Text("source", source.Info.Source);
            item.Text("mounting", source.Info.Mounting);
            item.Text("provenance", source.Info.Provenance);
            item.Text("licence", source.Info.Licence);
            item.Raw("invented", source.Info.Invented ? "true" : null);
        });
        yaml.Map("scenario", inner => Document(inner, run.Scenario));
        yaml.Map("rig", inner => Document(inner, run.Rig));
    }

    private static void Document(YamlLines yaml, SourceDocument document)
    {
        yaml.Text("path", document.Path);
        yaml.Text("sha256", document.Sha256);
        string unixText = document.Text.Replace("\r\n", "\n", StringComparison.Ordinal);
        bool crlf = unixText.Length < document.Text.Length && unixText.Replace("\n", "\r\n", StringComparison.Ordinal) == document.Text;
        if (crlf) { yaml.Text("line_ends", "crlf"); }
        yaml.Block("text", crlf ? unixText : document.Text);
    }

    private static string Moment(DateTimeOffset moment) => moment.ToString("o", CultureInfo.InvariantCulture);
    private static string Number(long value) => value.ToString(CultureInfo.InvariantCulture);
    private static string Number(int value) => value.ToString(CultureInfo.InvariantCulture);
    private static string Rate(SampleRate rate) => (rate.MilliHertz / 1000m).ToString(CultureInfo.InvariantCulture) + " Hz";
}
