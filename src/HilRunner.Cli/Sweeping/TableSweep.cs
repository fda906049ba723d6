using System.Globalization;
using System.Text.Json;
using HilRunner.Cli.Recorders;
using HilRunner.Cli.Runs;
using HilRunner.Cli.Screen;
using HilRunner.Core;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Shakers;
using HilRunner.Core.Sweeps;
using HilRunner.Engine.Shaking;

namespace HilRunner.Cli.Sweeping;

/// <summary>
/// A sweep by the rig's table. It moves nothing before a person at the terminal, or an interlock, has said yes; begins at a low level; and after a stop that was not its own it does not begin again.
/// </summary>
internal sealed class TableSweep : IAsyncDisposable
{
    /// <summary>Of the control point, IEC 60068-2-6 (from memory): what the table makes may differ by this from what it was told.</summary>
    private const double Tolerance = 0.15, NoiseG = 0.01;
    private readonly SweepPlan _plan;
    private readonly Rig _rig;
    private readonly SweepOrder _order;
    private readonly StreamWriter _log;
    private readonly ShakerSession _session;
    private readonly SineDrive _drive;
    private TableLoop? _loop;

    /// <exception cref="Core.Links.LinkException">The controller's link cannot be opened.</exception>
    public TableSweep(SweepPlan plan, Rig rig, SweepOrder order, string logPath)
    {
        (_plan, _rig, _order) = (plan, rig, order);
        Slot = SlotOf(plan, rig.Shaker!.Envelope);
        var link = Composition.Links.Open(rig.Shaker.Link);
        _log = File.CreateText(logPath);
        _session = new(rig.Shaker, link, Composition.Clock, line => { lock (_log) { _log.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{Composition.Clock.Now.Ns / 1e9:0.0000} {line}")); } });
        _drive = new(_session, rig.Shaker.Envelope, Composition.Clock);
    }

    /// <summary>How long each level lasts: the plan's dwell, and the longest ramp.</summary>
    public TimeSpan Slot { get; }

    /// <summary>However the sweep ended: the table is brought to rest, and what is known of that is said.</summary>
    public async ValueTask DisposeAsync()
    {
        try { if (_session.WasArmed) { await _drive.RestAsync().ConfigureAwait(false); } }
        catch (ShakerException fault) { Console.Error.WriteLine($"hil: {fault.Message}"); }
        _session.Dispose();
        lock (_log) { _log.Dispose(); }
    }

    /// <summary>Everything that can be refused before the table is spoken to.</summary>
    /// <exception cref="UsageException">The rig has no table, or the command line does not fit.</exception>
    /// <exception cref="BadInputException">The plan asks for what the table must not do.</exception>
    public static void Check(SweepPlan plan, Rig rig, SweepOrder order)
    {
        if (rig.Shaker is not { } shaker) { throw new UsageException($"--shaker: rig {rig.Name} has no shaker; rigs/README.md says how to describe one"); }
        if (order.Speed.Length > 0) { throw new UsageException("--speed: a table moves in real time: leave --speed out"); }
        if (!order.Armed && !KeyReader.HasTerminal) { throw new UsageException("--shaker: nobody is at a terminal to say that the table may move; with an interlock that answers for them say --armed"); }
        var faults = new List<Fault>();
        void Refuse(string found, string expected, string remedy = "") => faults.Add(new(order.Plan, 0, 0, found, expected, remedy));
        if (plan.Motion.IsRandom) { Refuse("random vibration for the table", "a tone: this controller is told sines"); }
        if (plan.Dwell is null) { Refuse("dwell: found for the table", "a dwell, such as 6 s", "find it by injection first"); }
        if (plan.Motion.Axis.Axis != shaker.Axis.Axis) { Refuse($"a motion along {plan.Motion.Axis} for a table that moves along {shaker.Axis}", "the table's axis"); }
        if (faults.Count == 0)
        {
            foreach (var motion in Staircase.Of(plan).SelectMany(loop => loop.Levels.Select(l => Motion(plan, loop.Across, l.Level))))
            {
                if (shaker.Envelope.Refuses(motion) is not { } why) { continue; }
                Refuse($"levels outside the envelope of rig {rig.Name}'s table: {why}", FormattableString.Invariant($"at most {shaker.Envelope.MostG(motion.Hz):0.####} g at {motion.Hz:0.###} Hz"), "end the range lower; nothing outside the envelope is sent");
                break;
            }
            if (SlotOf(plan, shaker.Envelope) > plan.Dwell!.Value * 1.5) { Refuse($"a dwell of {plan.Dwell!.Value.TotalSeconds:0.###} s, of which ramps take more than a third", "a longer dwell, or finer steps"); }
        }
        if (faults.Count > 0) { throw new BadInputException(faults); }
    }

    /// <summary>Asks for leave, arms the table, and moves it for the first time, at a low level.</summary>
    /// <returns>What the table measured over what it was told.</returns>
    /// <exception cref="ShakerException">It is not the right one, not at rest, or does not do what it is told; or the person did not say yes.</exception>
    /// <exception cref="OperationCanceledException">It was interrupted.</exception>
    public async Task<double> BeginAsync(CancellationToken stop)
    {
        _session.Identify();
        var highest = Staircase.Of(_plan).SelectMany(l => l.Levels.Select(v => Motion(_plan, l.Across, v.Level))).MaxBy(m => m.PeakG);
        TableCautions.Print(_plan, highest, Slot);
        if (!_order.Armed) { await TableCautions.AskAsync("type move to let it move at a low level first", "move", stop).ConfigureAwait(false); }
        _session.Arm();
        double gain = await _drive.MeasureGainAsync(highest, stop).ConfigureAwait(false);
        await _drive.GoToAsync(_session.Commanded with { PeakG = 0 }, stop).ConfigureAwait(false);
        if (!_order.Armed) { await TableCautions.AskAsync(FormattableString.Invariant($"it made {gain:0.00} times what it was told; is everything fixed and as it should be? type go for the sweep"), "go", stop).ConfigureAwait(false); }
        return gain;
    }

    public string Scenario(string name, SweepLoop loop)
    {
        double seconds = (loop.Levels.Count() + 1) * Slot.TotalSeconds;
        return string.Create(CultureInfo.InvariantCulture, $"scenario: {JsonSerializer.Serialize(name)}\nstimulus:\n  - prompt: {{say: \"hands off: the table moves\", for: {seconds:0.###} s, class: swept}}\nunscored: [swept]\n");
    }

    public BatchItem Item(SourceDocument document, SweepLoop loop, ulong seed, (int, int) place, CancellationToken stop)
    {
        SineMotion[] levels = [.. loop.Levels.Select(l => Motion(_plan, loop.Across, l.Level))];
        return new(document, ScenarioFile.Parse(document.Text, document.Path), null, 1, seed)
        {
            Place = place,
            Mover = folder => _loop = new(_session, _rig.Shaker!.Envelope, [levels[0], .. levels], Slot, folder, stop),
        };
    }

    /// <exception cref="ShakerException">The table was stopped in the loop that was played last.</exception>
    public void ThrowIfStopped()
    {
        if (_loop?.Fault is { } fault) { throw fault; }
    }

    /// <summary>Where the table did not make what it was told; null: nowhere.</summary>
    public string? OutsideTolerance()
    {
        for (int i = 0; i < _loop!.MeasuredG.Count; i++)
        {
            double told = _loop.Levels[i].PeakG, made = _loop.MeasuredG[i];
            if (!(Math.Abs(made - told) <= Tolerance * told + NoiseG)) { return FormattableString.Invariant($"the table made {made:0.####} g where it was told {told:0.####} g at {_loop.Levels[i].Hz:0.###} Hz, outside ±{Tolerance * 100:0} %"); }
        }
        return _loop.MeasuredG.Count == _loop.Levels.Count ? null : $"the table made {_loop.MeasuredG.Count} of {_loop.Levels.Count} levels";
    }

    /// <summary>The levels as the table measured them; a swept frequency as it was told.</summary>
    public IEnumerable<(bool Rising, decimal Level)> Measured(SweepLoop loop) => loop.Levels.Select((l, i) =>
        (l.Rising, _plan.Motion.Along == SweptParameter.Peak ? decimal.Round(1000 * (decimal)_loop!.MeasuredG[i + 1], 3) : _plan.Motion.Along.InUnit(l.Level)));

    private static SineMotion Motion(SweepPlan plan, decimal? across, decimal level)
    {
        double Value(SweptParameter parameter) => (double)(plan.Motion.Parameters.First(p => p.Parameter == parameter).Value switch { StillValue still => still.Value, SweptRange => level, _ => across!.Value });
        return new(Value(SweptParameter.Tone) / 1000, Value(SweptParameter.Peak));
    }

    private static TimeSpan SlotOf(SweepPlan plan, Envelope envelope)
    {
        var ramp = TimeSpan.Zero;
        foreach (var loop in Staircase.Of(plan))
        {
            var levels = loop.Levels.Select(l => Motion(plan, loop.Across, l.Level)).ToList();
            foreach (var (before, next) in levels.Zip(levels.Skip(1)).Prepend((levels[0] with { PeakG = 0 }, levels[0])))
            {
                var time = before.Hz == next.Hz ? SineDrive.RampTime(envelope, before.PeakG, next.PeakG) : SineDrive.RampTime(envelope, before.PeakG, 0) + SineDrive.RampTime(envelope, 0, next.PeakG);
                if (time > ramp) { ramp = time; }
            }
        }
        return TimeSpan.FromSeconds(Math.Ceiling(((plan.Dwell ?? TimeSpan.Zero) + ramp).TotalSeconds * 10) / 10);
    }
}
