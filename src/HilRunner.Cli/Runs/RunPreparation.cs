using HilRunner.Core.Files;
using HilRunner.Core.Messages;
using HilRunner.Core.Recordings;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Signals;
using HilRunner.Engine.Plans;
using HilRunner.Engine.Reviewing;

namespace HilRunner.Cli.Runs;

/// <summary>Lays a run's folder out before anything is played, so that a kill at any later moment leaves a run that can be scored.</summary>
internal sealed class RunPreparation(Rig rig, SourceDocument rigDocument, IDeviceFormat format, string speed, BuildIdentity build)
{
    /// <summary>Builds the stimulus and its frames, and writes run.yaml, expected.csv and stimulus.csv.</summary>
    public (RunManifest Manifest, PlayPlan Plan) Prepare(BatchItem item, string folder, string linkName)
    {
        Stimulus stimulus = StimulusBuilder.Build(item.Scenario, item.Folder, rig.Device.Input, item.Seed);
        Directory.CreateDirectory(folder);
        string expected = Path.Combine(folder, RunFiles.Expected);
        ExpectedFile.Write(expected, stimulus.Reference);
        var manifest = new RunManifest
        {
            Id = Path.GetFileName(folder),
            Started = Composition.Clock.Provider.GetUtcNow(),
            ToolVersion = Composition.Version,
            Host = Environment.MachineName,
            Scenario = item.Document,
            Rig = rigDocument,
            ScenarioName = item.Scenario.Name,
            RigName = rig.Name,
            Link = linkName,
            Suite = item.Suite,
            Repeat = item.Repeat,
            Seed = item.Seed,
            Variation = item.Variation,
            Speed = speed,
            Build = build,
            Rate = stimulus.Rate,
            Samples = stimulus.SampleCount,
            LeadSamples = stimulus.LeadSamples,
            ExpectedSha256 = FileHash.Sha256(expected),
            Channels = stimulus.ChannelNames,
            Clipped = stimulus.Clipped,
            Sources = stimulus.Sources,
        };
        WriteStimulus(stimulus, item, folder);
        RunManifestFile.Write(Path.Combine(folder, RunFiles.Manifest), manifest);
        return (manifest, PlanBuilder.Build(stimulus, rig.Device, format, Speeds.Factor(speed), folder));
    }

    private static void WriteStimulus(Stimulus stimulus, BatchItem item, string folder)
    {
        var channels = stimulus.Counts
            .Select((counts, c) => counts.Skip(stimulus.LeadSamples).Select(n => n * stimulus.UnitsPerCount[c]).ToArray())
            .ToArray();
        RecordingFile.Write(Path.Combine(folder, RunFiles.Stimulus), new Recording
        {
            Name = item.Scenario.Name,
            Rate = stimulus.Rate,
            ChannelNames = stimulus.ChannelNames,
            Channels = channels,
            Info = new RecordingInfo { Rate = stimulus.Rate, Invented = stimulus.Sources.Any(s => s.Info.Invented) },
        });
    }
}
