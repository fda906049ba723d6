using System.Globalization;
using HilRunner.Application.Batches;
using HilRunner.Application.Benches;
using HilRunner.Application.Playing;
using HilRunner.Application.Stored;
using HilRunner.Core;
using HilRunner.Core.Files;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Signals;
using HilRunner.Core.Sweeps;
using HilRunner.Engine.Shaking;
using HilRunner.Reporting;
using HilRunner.Scoring;
using HilRunner.Scoring.Sweeping;

namespace HilRunner.Application.Sweeping;

/// <param name="Output">Which output of the device; null: its only one.</param>
/// <param name="Speed">"": as for hil run.</param>
internal sealed record SweepOrder(string Plan, string Rig, string Out, string? Link, string Speed, string? Output, string? Build, string? Image, bool Quiet)
{
    /// <summary>By the rig's table, not by injection.</summary>
    public bool Shaker { get; init; }
    /// <summary>Nobody is asked: an interlock answers.</summary>
    public bool InterlockAnswers { get; init; }
}

/// <summary>
/// Plays a sweep plan loop after loop into a rig's device and finds where its class switches. The sweep's folder holds the plan, what was
/// played, every run, and after each loop all that is known so far.
/// </summary>
internal sealed class SweepJob
{
    public const string PlanCopy = "plan.yaml";
    private static readonly TimeSpan s_leastDwell = TimeSpan.FromSeconds(1), s_firstStep = TimeSpan.FromSeconds(10), s_longestStep = TimeSpan.FromSeconds(80);
    private readonly JobContext _context;
    private readonly SweepOrder _order;
    private readonly PlayedRig _on;
    private readonly SweepPlan _plan;
    private readonly string _speed;
    private readonly IReadOnlyList<SweepLoop> _loops;
    private int _documents;

    private SweepJob(
        JobContext context, SweepOrder order, PlayedRig on, SweepPlan plan, string planText, string output, string speed)
    {
        (_context, _order, _on, _plan, _speed) = (context, order, on, plan, speed);
        _loops = Staircase.Of(plan);
        var now = _context.Now;
        Folder = BatchFolder.Create(order.Out, now, plan.Name);
        AtomicFile.WriteText(Path.Combine(Folder, PlanCopy), writer => writer.Write(planText));
        var along = plan.Motion.Along;
        var range = plan.Motion.Range;
        Sweep = new()
        {
            Name = plan.Name, Begun = now, ToolVersion = context.Version, Rig = on.Rig.Name, Output = output,
                Build = order.Build ?? Path.GetFileName(order.Image) ?? "as it is on the rig",
            ImageSha256 = order.Image is { } image ? FileHash.Sha256(image) : null, PlanSha256 = FileHash.Sha256OfText(planText), Motion = Described(plan.Motion),
            Along = new(along.Key, along.Title, along.Unit, along.InUnit(range.From), along.InUnit(range.To), along.InUnit(range.By)),
            Across = plan.Motion.Across is { } across ? new(across.Key, across.Title, across.Unit) : null,
            DwellS = plan.Dwell?.TotalSeconds ?? 0, Repeats = plan.Repeats, Seed = plan.Seed, Confidence = plan.Confidence, Loops = _loops.Count,
        };
    }

    public string Folder { get; }

    public Sweep Sweep { get; private set; }

    /// <summary>Reads and checks everything before anything is played.</summary>
    /// <exception cref="BadInputException">Every fault of the plan and the rig file.</exception>
    /// <exception cref="UsageException">The command line asks for what cannot be.</exception>
    public static SweepJob Of(JobContext context, SweepOrder order)
    {
        if (File.Exists(order.Out)) { throw new UsageException($"--out {order.Out}: is a file; expected a folder, or a name that is free"); }
        if (order.Image is { } image && !File.Exists(image)) { throw new BadInputException([new(image, 0, 0, "no such file", "the firmware image")]); }
        var plan = SweepPlanFile.Read(order.Plan);
        string text = File.ReadAllText(order.Plan);
        var on = RigFiles.Read([order.Rig], order.Link)[0];
        var outputs = on.Rig.Device.Outputs;
        string output = order.Output ?? (outputs.Count == 1 ? outputs[0] : throw new UsageException($"rig {on.Rig.Name} has {outputs.Count} outputs: say --output, one of {string.Join(", ", outputs)}"));
        if (!outputs.Contains(output)) { throw new UsageException($"--output {output}: rig {on.Rig.Name} has {string.Join(", ", outputs)}"); }
        if (order.Shaker) { TableSweep.Check(context.Operator, plan, on.Rig, order); }
        else if (on.Rig.Device.Hears.Sample is null) { throw new UsageException($"rig {on.Rig.Name} takes no samples (device.hears.sample): nothing can be played into it"); }
        CheckClasses(plan, on.Rig, output, order.Plan);
        if (!order.Shaker) { CheckLevels(plan, on.Rig, order.Plan); }
        return new(context, order, on, plan, text, output, order.Shaker ? Speeds.Real
            : PlaySpeed.For(context.Operator, on.Rig, order.Speed, new(plan.Name, [])));
    }

    /// <exception cref="OperationCanceledException">It was interrupted: what was played is kept, and said to be a part.</exception>
    public async Task RunAsync(IPlayView view, CancellationToken stop)
    {
        Conclude(ended: false);
        using var gate = RigLock.Take(_context, _on.Rig);
        await Erasing.PermitAsync(_context.Operator, _on, _order.Image, stop).ConfigureAwait(false);
        RigPreparation.Do(_context, _on.Rig, _order.Image, _order.Out,
            said => PlainFile.AppendText(Path.Combine(Folder, BatchFolder.Prepared), said), stop);
        using var player = new RecoveringPlayer(_on, _order.Link, _speed,
            new BuildIdentity(_order.Build, _order.Image, Sweep.ImageSha256), Path.Combine(Folder, "runs"), _context, view);
        try
        {
            await using var table = _order.Shaker ? new TableSweep(_context, _plan, _on.Rig, _order,
                Path.Combine(Folder, "shaker.log")) : null;
            if (table is not null) { await BeginOnTableAsync(table, stop).ConfigureAwait(false); }
            var dwell = table?.Slot ?? _plan.Dwell ?? await FindDwellAsync(player, stop).ConfigureAwait(false);
            var levels = new List<(decimal? Across, SettledClass Level)>();
            foreach (var loop in _loops)
            {
                await PlayAsync(player, table, loop, dwell, levels, stop).ConfigureAwait(false);
                Conclude(ended: loop.Number == _loops.Count, levels);
            }
        }
        catch (ShakerException fault)
        {
            // The rig's fault, whatever the device said meanwhile: what was found before stands, and the sweep is not finished.
            Sweep = Sweep with { Verdict = Verdict.Inconc, Reasons = [fault.Message, .. Sweep.Reasons] };
            Save();
        }
        catch (Exception fault) when (fault is OperationCanceledException or IOException)
        {
            Sweep = Sweep with { Notes = [.. Sweep.Notes, fault is OperationCanceledException ? $"interrupted after {Sweep.Runs.Count} of {_loops.Count} loops" : fault.Message] };
            Save();
            throw;
        }
    }

    private async Task BeginOnTableAsync(TableSweep table, CancellationToken stop)
    {
        double gain = await table.BeginAsync(stop).ConfigureAwait(false);
        Sweep = Sweep with { OnTable = true, DwellS = table.Slot.TotalSeconds, Notes = [.. Sweep.Notes, FormattableString.Invariant($"the first motion, at a low level, measured {gain:0.00} times what the table was told")] };
    }

    private async Task PlayAsync(RecoveringPlayer player, TableSweep? table, SweepLoop loop, TimeSpan dwell, List<(decimal? Across, SettledClass Level)> levels, CancellationToken stop)
    {
        string at = loop.Across is { } across ? $" at {_plan.Motion.Across!.Write(across)}" : "";
        string name = $"{_plan.Name}, loop {loop.Number}{at}";
        var item = table is not null ? table.Item(Saved(table.Scenario(name, loop)), loop, _plan.Seed, (loop.Number, _loops.Count), stop)
            : Written(name, loop.Across, loop.Levels.Select(l => l.Level), dwell, (ulong)loop.Number, (loop.Number, _loops.Count));
        var run = await player.PlayAsync(item, stop).ConfigureAwait(false);
        table?.ThrowIfStopped();
        string? spoiled = RecoveringPlayer.Spoiled(run) ?? table?.OutsideTolerance();
        decimal? inUnit = loop.Across is { } value ? _plan.Motion.Across!.InUnit(value) : null;
        Sweep = Sweep with { Runs = [.. Sweep.Runs, new(loop.Number, inUnit, Path.GetRelativePath(Folder, run.Folder), spoiled)] };
        if (spoiled is not null) { return; }
        var played = table?.Measured(loop) ?? loop.Levels.Select(l => (l.Rising, Level: _plan.Motion.Along.InUnit(l.Level)));
        levels.AddRange(SettledClass.Of(loop.Number, Decisions(run), played, dwell.Ticks * 100).Select(l => (inUnit, l)));
    }

    /// <summary>Steps from end to end at every value across: twice what the slowest took, and half a second more.</summary>
    /// <exception cref="IOException">The rig spoiled it, or the device was still changing its mind.</exception>
    private async Task<TimeSpan> FindDwellAsync(RecoveringPlayer player, CancellationToken stop)
    {
        var range = _plan.Motion.Range;
        var slowest = TimeSpan.Zero;
        decimal?[] across = _plan.Motion.Across is null ? [null] : [.. _plan.Motion.AcrossValues.Select(v => (decimal?)v)];
        foreach (decimal? at in across)
        {
            for (var length = s_firstStep; ; length *= 2)
            {
                decimal[] ends = [range.From, range.To, range.From, range.To];
                var item = Written($"{_plan.Name}, step from end to end", at, ends, length, 0, (1, 1));
                var run = await player.PlayAsync(item, stop).ConfigureAwait(false);
                if (RecoveringPlayer.Spoiled(run) is { } spoiled) { throw new IOException($"the dwell could not be found: the rig spoiled the step from end to end: {spoiled}; see {run.Folder}"); }
                var decisions = Decisions(run);
                long ns = length.Ticks * 100, last = decisions.Select(d => d.Time.Ns % ns).DefaultIfEmpty(0).Max();
                if (last < ns / 2)
                {
                    slowest = TimeSpan.FromTicks(Math.Max(slowest.Ticks, last / 100));
                    break;
                }
                if (length * 2 > s_longestStep) { throw new IOException($"the dwell could not be found: the device still changed its class {TimeSpan.FromTicks(last / 100).TotalSeconds:0.0} s after a step from end to end; give dwell in the plan"); }
            }
        }
        // To the next tenth: people read it, and levels begin on samples.
        var dwell = TimeSpan.FromSeconds(Math.Ceiling((2 * slowest.TotalSeconds + 0.5) * 10) / 10);
        if (dwell < s_leastDwell) { dwell = s_leastDwell; }
        Sweep = Sweep with { DwellS = dwell.TotalSeconds, SlowestStepS = slowest.TotalSeconds };
        return dwell;
    }

    private List<Decision> Decisions(StoredRun run) =>
        [.. DecisionsFile.Read(Path.Combine(run.Folder, RunFiles.Decisions)).Where(d => (d.Output.Length == 0 || d.Output == Sweep.Output) && !_plan.Events.Contains(d.Class)).OrderBy(d => d.Time.Ns)];

    private BatchItem Written(string name, decimal? across, IEnumerable<decimal> levels, TimeSpan dwell, ulong seed, (int, int) place)
    {
        var document = Saved(Staircase.Scenario(_plan, name, across, levels, dwell));
        return new(document, ScenarioFile.Parse(document.Text, document.Path), null, 1, _plan.Seed + seed) { Place = place };
    }

    private SourceDocument Saved(string scenario)
    {
        string path = Path.Combine(PlainFile.CreateFolder(Path.Combine(Folder, "played")),
            string.Create(CultureInfo.InvariantCulture, $"{++_documents:000}.yaml"));
        AtomicFile.WriteText(path, writer => writer.Write(scenario));
        return new(path, FileHash.Sha256OfText(scenario), scenario);
    }

    private void Conclude(bool ended, List<(decimal? Across, SettledClass Level)>? levels = null)
    {
        SweepPoint[] points = [.. (levels ?? []).GroupBy(l => l.Across).OrderBy(g => g.Key).Select(g => SweepPoint.Of(g.Key, [.. g.Select(l => l.Level)], _plan))];
        var limits = SweepJudge.Judge(_plan, points);
        Sweep = Sweep with { Points = points, Limits = limits, Ended = ended ? _context.Now : null };
        var (verdict, reasons) = SweepVerdict.Of(Sweep, _plan);
        Sweep = Sweep with { Verdict = verdict, Reasons = reasons };
        Save();
    }

    private void Save()
    {
        AtomicFile.WriteText(Path.Combine(Folder, SweepJson.File), writer => writer.Write(SweepJson.ToText(Sweep)));
        AtomicFile.WriteText(Path.Combine(Folder, RunFiles.Report), writer => SweepReport.Write(Sweep, writer));
    }

    private static void CheckClasses(SweepPlan plan, Rig rig, string output, string path)
    {
        var map = rig.Device.Says.Decisions.First(d => d.Output == output).Classes ?? rig.Device.Classes;
        if (map.Count == 0) { return; }
        var unknown = plan.Limits.Select(l => l.Class).OfType<string>().Concat(plan.Events).Distinct().Where(c => !map.Values.Contains(c)).ToList();
        if (unknown.Count > 0) { throw new BadInputException([.. unknown.Select(c => new Fault(path, 0, 0, $"class {c}", $"a class of rig {rig.Name}: {string.Join(", ", map.Values.Distinct())}"))]); }
    }

    /// <summary>The lowest and the highest level at each value across can be made at the device's rate, and are not cut off at its range.</summary>
    private static void CheckLevels(SweepPlan plan, Rig rig, string path)
    {
        var range = plan.Motion.Range;
        decimal?[] across = plan.Motion.Across is null ? [null] : [.. plan.Motion.AcrossValues.Select(v => (decimal?)v)];
        foreach (decimal? at in across)
        {
            string text = Staircase.Scenario(plan, plan.Name, at, [Math.Max(range.From, range.By / 1000), range.To], plan.Dwell ?? s_leastDwell);
            var stimulus = StimulusBuilder.Build(ScenarioFile.Parse(text, path), Path.GetDirectoryName(Path.GetFullPath(path))!, rig.Device.Input, plan.Seed);
            if (stimulus.Clipped.Sum() == 0) { continue; }
            throw new BadInputException([new(path, 0, 0, $"levels that the range of rig {rig.Name}'s device cuts off ({string.Join(", ", rig.Device.Input.Channels.Select(c => $"{c.Name} ±{c.Range.ToString("0.###", CultureInfo.InvariantCulture)}"))})", "a motion that fits, with 1 g of gravity", "end the range lower")]);
        }
    }

    /// <summary>What moves, without what is swept or has several values.</summary>
    private static string Described(SweptMotion motion)
    {
        string? Value(SweptParameter p) => motion.Parameters.First(m => m.Parameter == p).Value is StillValue still ? p.Write(still.Value) : null;
        IEnumerable<string?> parts = motion.IsRandom
            ? ["random vibration", Value(SweptParameter.Lower) is { } low ? $"from {low}" : null, Value(SweptParameter.Upper) is { } high ? $"to {high}" : null, Value(SweptParameter.Rms) is { } rms ? $"of {rms} rms" : null]
            : ["a tone", Value(SweptParameter.Tone) is { } hz ? $"of {hz}" : null, Value(SweptParameter.Peak) is { } peak ? $"{peak} peak" : null];
        return $"{string.Join(' ', parts.OfType<string>())} along {motion.Axis}";
    }
}
