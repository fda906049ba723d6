using HilRunner.Application.Batches;
using HilRunner.Core.Files;
using HilRunner.Core.Messages;
using HilRunner.Core.Recordings;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Signals;
using HilRunner.Engine.Plans;
using HilRunner.Engine.Prompting;

namespace HilRunner.Application.Playing;

/// <summary>Lays a run's folder out before anything is played, so that a kill at any later moment leaves a run that can be scored.</summary>
internal sealed class RunPreparation(JobContext context, Rig rig, SourceDocument rigDocument, IDeviceFormat format,
    string speed, BuildIdentity build)
{
    /// <summary>Builds the stimulus and its frames, and writes run.yaml, expected.csv and stimulus.csv.</summary>
    public (RunManifest Manifest, PlayPlan Plan) Prepare(BatchItem item, string folder, string linkName)
    {
        if (item.ByHand is { } schedule) { return PrepareByHand(item, schedule, folder, linkName); }
        if (item.OnTable is { } table) { return PrepareOnTable(item, table, folder, linkName); }
        Stimulus stimulus = StimulusBuilder.Build(item.Scenario, item.Folder, rig.Device.Input, item.Seed);
        PlainFile.CreateFolder(folder);
        string expected = Path.Combine(folder, RunFiles.Expected);
        ExpectedFile.Write(expected, stimulus.Reference);
        var manifest = Manifest(item, folder, linkName) with
        {
            Speed = speed,
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

    /// <summary>Nothing is injected: what is expected follows from marks that are still to come, and expected.csv is written again from them.</summary>
    private (RunManifest Manifest, PlayPlan Plan) PrepareByHand(BatchItem item, PromptSchedule schedule, string folder, string linkName)
    {
        PlainFile.CreateFolder(folder);
        ExpectedFile.Write(Path.Combine(folder, RunFiles.Expected), HandReference.Intervals(schedule, HandReference.Onsets(schedule, [])));
        bool measured = rig.Device.Says.Sample is not null;
        PlayPlan plan = PlanBuilder.Listen(rig.Device, format, schedule.Lead, TimeSpan.FromTicks(schedule.End.Ns / 100), needsMeasured: false, folder);
        var manifest = Manifest(item, folder, linkName) with
        {
            ByHand = true,
            Speed = Speeds.Real,
            Rate = plan.Rate,
            Samples = plan.LeadSamples + (int)plan.Rate.SamplesBefore(schedule.End),
            LeadSamples = plan.LeadSamples,
            Channels = measured ? [.. rig.Device.Input.Channels.Select(c => c.Name)] : [],
        };
        RunManifestFile.Write(Path.Combine(folder, RunFiles.Manifest), manifest);
        return (manifest, plan);
    }

    /// <summary>Nothing is injected: the table begins to move at a time of the run that is known beforehand.</summary>
    private (RunManifest Manifest, PlayPlan Plan) PrepareOnTable(BatchItem item, TableItem table, string folder, string linkName)
    {
        PlainFile.CreateFolder(folder);
        string expected = Path.Combine(folder, RunFiles.Expected);
        ExpectedFile.Write(expected, table.Reference);
        PlayPlan plan = PlanBuilder.Listen(rig.Device, format, TableItem.Lead, table.Listen, needsMeasured: false, folder);
        RecordingFile.Write(Path.Combine(folder, RunFiles.Stimulus), table.Felt(item.Scenario.Name));
        var manifest = Manifest(item, folder, linkName) with
        {
            OnTable = true,
            Speed = Speeds.Real,
            Rate = plan.Rate,
            Samples = plan.LeadSamples + (int)plan.Rate.SamplesBefore(new(table.Listen.Ticks * 100)),
            LeadSamples = plan.LeadSamples,
            ExpectedSha256 = FileHash.Sha256(expected),
            Channels = table.Stimulus.ChannelNames,
            Sources = table.Stimulus.Sources,
        };
        RunManifestFile.Write(Path.Combine(folder, RunFiles.Manifest), manifest);
        return (manifest, plan);
    }

    private RunManifest Manifest(BatchItem item, string folder, string linkName) => new()
    {
        Id = Path.GetFileName(folder),
        Started = context.Now,
        ToolVersion = context.Version,
        Host = Environment.MachineName,
        Scenario = item.Document,
        Rig = rigDocument,
        ScenarioName = item.Scenario.Name,
        RigName = rig.Name,
        Link = linkName,
        Suite = item.Suite,
        Repeat = item.Repeat,
        Seed = item.Seed,
        HoldNs = item.HoldNs,
        Variation = item.Variation,
        Speed = speed,
        Build = build,
        Rate = rig.Device.Input.Rate,
        Samples = 0,
        LeadSamples = 0,
        Channels = [],
    };

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
