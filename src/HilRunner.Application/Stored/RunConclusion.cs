using HilRunner.Core;
using HilRunner.Core.Capture;
using HilRunner.Core.Files;
using HilRunner.Core.Recordings;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Time;
using HilRunner.Engine.Playing;
using HilRunner.Engine.Prompting;
using HilRunner.Engine.Reviewing;
using HilRunner.Reporting;
using HilRunner.Scoring;

namespace HilRunner.Application.Stored;

/// <summary>
/// From a run's folder to its decisions, score and report. The live run and <c>hil score RUN</c> both end here and nowhere
/// else, so that they give the same bytes.
/// </summary>
internal static class RunConclusion
{
    /// <summary>Reads the folder, writes decisions.csv and score.json into it, and returns the run as reports show it.</summary>
    /// <exception cref="BadInputException">A file of the folder is missing or damaged beyond its last line.</exception>
    /// <param name="leave">Whether an adapter may be started.</param>
    /// <param name="other">Judged by these rules; null: by the scenario's.</param>
    public static StoredRun Conclude(JobContext context, string folder, AdapterLeave leave, OtherRules? other = null)
    {
        StoredRun run = Review(context, folder, leave, other);
        // A score of earlier definitions that cannot be made again is left as it was made.
        if (!PlainFile.IsThere(Path.Combine(folder, RunFiles.Capture))
            && StoredOrNull(folder) is { Schema: < ScoreJson.Schema, Verdict: not Verdict.Error } stored)
        {
            return run with { Score = stored with { Notes = [.. stored.Notes,
                $"{RunFiles.Capture} is missing: this is the score as it was stored, and it cannot be made again"] } };
        }
        if (run.Manifest.ByHand) { WriteByHand(run); }
        DecisionsFile.Write(Path.Combine(folder, RunFiles.Decisions), run.Decisions);
        AtomicFile.Write(Path.Combine(folder, RunFiles.Score), stream => ScoreJson.Write(run.Score, stream));
        return run;
    }

    /// <summary>The score that a folder holds; null: none.</summary>
    /// <exception cref="BadInputException">It is damaged.</exception>
    public static Score? Stored(string folder)
    {
        string path = Path.Combine(folder, RunFiles.Score);
        return PlainFile.IsThere(path) ? ScoreJson.Read(path) : null;
    }

    private static Score? StoredOrNull(string folder)
    {
        try { return Stored(folder); }
        catch (BadInputException) { return null; }
    }

    public static void WriteReport(StoredRun run) => AtomicFile.WriteText(Path.Combine(run.Folder, RunFiles.Report), writer => RunReport.Write(run, writer));

    /// <summary>After a live run: how it ended and what the device said of itself, into run.yaml.</summary>
    public static StoredRun Seal(StoredRun run, string cause, DateTimeOffset now)
    {
        run = run with
        {
            Manifest = run.Manifest with
            {
                Ended = now,
                Complete = cause is EndCause.Completed or EndCause.Silent,
                EndCause = cause,
            },
        };
        RunManifestFile.Write(Path.Combine(run.Folder, RunFiles.Manifest), run.Manifest);
        return run;
    }

    /// <summary>
    /// The run as reports show it; writes nothing but, where an adapter may be started and has to be, what it says.
    /// </summary>
    public static StoredRun Review(JobContext context, string folder, AdapterLeave leave, OtherRules? other = null)
    {
        RunManifest manifest = RunManifestFile.Read(Path.Combine(folder, RunFiles.Manifest));
        string manifestPath = Path.Combine(folder, RunFiles.Manifest);
        Rig rig = Kept(manifestPath, "rig", () => RigFile.Parse(manifest.Rig.Text, manifest.Rig.Path));
        Scenario scenario = Kept(manifestPath, "scenario", () => ScenarioFile.Parse(manifest.Scenario.Text, manifest.Scenario.Path));
        string? otherRig = FileHash.Sha256OfText(manifest.Rig.Text) == manifest.Rig.Sha256 ? null
            : $"the rig's text in {RunFiles.Manifest} is not the one that its SHA-256 is of: it was changed after the run was played";
        if (otherRig is not null)
        {
            context.Operator.Warn(
                $"{manifestPath}: {otherRig}. The run is scored by the text as it stands, and counts for nothing");
        }
        string playoutPath = Path.Combine(folder, RunFiles.Playout), capturePath = Path.Combine(folder, RunFiles.Capture);
        IReadOnlyList<PlayoutRow> playout = PlainFile.IsThere(playoutPath) ? PlayoutFile.Read(playoutPath, cutOff: true) : [];
        using var decoders = StoredDecoders.Of(context, rig, manifest, folder, leave);
        HandReview? hand = PromptSchedule.Of(scenario) is { } schedule
            ? HandReview.Of(context.Captures, schedule, rig, decoders, folder) : null;
        string expectedPath = Path.Combine(folder, RunFiles.Expected);
        var reference = hand?.Reference ?? ExpectedFile.Read(expectedPath);
        if (manifest.ExpectedSha256 is { } hash && FileHash.Sha256(expectedPath) != hash)
        {
            throw new BadInputException([new(
                expectedPath, 0, 0, "not what the run was played with", $"the file whose SHA-256 stands in {RunFiles.Manifest}",
                "restore it; to score against another reference use hil score --expected … --decisions …")]);
        }
        using ICaptureReader? capture = PlainFile.IsThere(capturePath) ? context.Captures.Open(capturePath) : null;
        RunEvidence evidence = CaptureReview.Read(rig, manifest, playout, decoders, capture, Revived(context.Captures, folder));
        var felt = manifest.OnTable ? Felt(context.Captures, rig, decoders, folder, evidence.End)
            : new Dictionary<string, double[]>();
        TableReview? table = TableReview.Of(manifest, folder, felt);
        bool realTime = manifest.Speed == Speeds.Real;
        var rules = scenario.Rules with
        {
            StaleAfterNs = rig.Device.StaleAfter?.Ticks * 100, HoldNs = manifest.HoldNs ?? scenario.Rules.HoldNs,
        };
        rules = other?.On(rules) ?? rules;
        StimulusTime end = other?.End is { } cut && cut < evidence.End ? cut : evidence.End;
        Score score = Scorer.Score(new ScoreInput
        {
            Reference = reference,
            Decisions = evidence.Decisions,
            Outputs = rig.Device.Outputs,
            End = end,
            Rules = rules,
            Health = evidence.Health with { Faults = [.. otherRig is null ? [] : new[] { otherRig },
                .. TableFaults(manifest, table), .. evidence.Health.Faults] },
            Device = evidence.Device,
            Playout = realTime ? playout : [],
            Rate = manifest.Rate,
            HeldUp = evidence.HeldUp,
            Moved = !manifest.Injects,
            Timing = evidence.Timing,
            Delivery = evidence.Delivery,
            Notes = [.. other is null ? [] : new[] { $"judged by {other.Words}, not by what the scenario says" },
                .. evidence.Notes],
        });
        if (capture is null) { score = score with { Verdict = Verdict.Error, Reasons = [$"{RunFiles.Capture} is missing: the player did not start, or the file was removed"] }; }
        else if (evidence.EndCause is EndCause.NotOpened or EndCause.CaptureFailed or EndCause.WrongBuild or EndCause.NotPlayed)
        {
            score = score with { Verdict = Verdict.Error, Reasons = [evidence.EndMessage] };
        }
        return new StoredRun
        {
            Folder = folder,
            Manifest = manifest with { Identity = evidence.Identity, EndCause = evidence.EndCause },
            Score = score,
            Reference = reference,
            Decisions = evidence.Decisions,
            Playout = playout,
            End = end,
            Timing = evidence.Timing,
            HealthLimits = rig.Health,
            Motion = hand is not null ? hand.Motion(evidence.End) : felt.Count > 0 ? felt : Motion(folder, manifest),
            Table = table,
            Onsets = hand?.Onsets ?? [],
            Marks = hand?.Marks ?? [],
            Incidents = [.. evidence.Incidents.Select(i => new RunIncident(i.At, i.What)), .. hand?.Incidents ?? []],
            StillSilent = evidence.StillSilent,
            ClassOrder = [.. rig.Device.Classes.Values],
            Rules = rules,
        };
    }

    /// <summary>What was done to a silent device from outside, in its order, and whether it answered then.</summary>
    private static List<(string By, bool Answered)> Revived(ICaptureStore captures, string folder)
    {
        var revivals = new List<(string, bool)>();
        for (int rung = 1; PlainFile.IsThere(Path.Combine(folder, RunFiles.Revival(rung))); rung++)
        {
            using var capture = captures.Open(Path.Combine(folder, RunFiles.Revival(rung)));
            revivals.AddRange(Revivals.Read(capture));
        }
        return revivals;
    }

    private static IReadOnlyList<string> TableFaults(RunManifest run, TableReview? table) =>
        !run.OnTable ? [] : table?.Faults ?? [$"{RunFiles.TableRecord} is missing: whether the table moved is not known"];

    /// <summary>The device's own samples, where it says them.</summary>
    private static IReadOnlyDictionary<string, double[]> Felt(
        ICaptureStore captures, Rig rig, Core.Messages.IDecoderSource decoders, string folder, StimulusTime end)
    {
        string capture = Path.Combine(folder, RunFiles.Capture);
        if (rig.Device.Says.Sample is null || !PlainFile.IsThere(capture)) { return new Dictionary<string, double[]>(); }
        using var reader = captures.Open(capture);
        var motion = MeasuredMotion.Read(rig.Device, decoders, reader);
        return motion.Any ? motion.OnAxis(end) : new Dictionary<string, double[]>();
    }

    /// <summary>What follows from the marks: the same files from the same folder, however often.</summary>
    private static void WriteByHand(StoredRun run)
    {
        MarksFile.Write(Path.Combine(run.Folder, RunFiles.Marks), run.Marks);
        ExpectedFile.Write(Path.Combine(run.Folder, RunFiles.Expected), run.Reference);
    }

    /// <summary>A text that run.yaml keeps: its faults are run.yaml's, not those of the file it once came from.</summary>
    private static T Kept<T>(string manifestPath, string key, Func<T> parse)
    {
        try { return parse(); }
        catch (BadInputException damaged)
        {
            throw new BadInputException([.. damaged.Faults.Select(f => f with { File = $"{manifestPath}, text of {key}" })]);
        }
    }

    private static IReadOnlyDictionary<string, double[]> Motion(string folder, RunManifest manifest)
    {
        string path = Path.Combine(folder, RunFiles.Stimulus);
        if (!PlainFile.IsThere(path)) { return new Dictionary<string, double[]>(); }
        // The reader of recordings takes links, as people may have them; in a run there are none.
        foreach (string beside in (string[])[RecordingFile.SidePath(path), RecordingFile.LabelPath(path)])
        {
            _ = PlainFile.IsThere(beside);
        }
        Recording recording = RecordingFile.Read(path);
        var motion = new Dictionary<string, double[]>(StringComparer.Ordinal);
        foreach (string channel in manifest.Channels)
        {
            int at = recording.ChannelNames.ToList().IndexOf(channel);
            motion[channel] = at >= 0 ? recording.Channels[at]
                : throw new BadInputException(
                    [new(path, 0, 0, $"no channel {channel}", $"the channels that {RunFiles.Manifest} names")]);
        }
        return motion;
    }
}
