using System.Globalization;
using System.Text.Json;
using HilRunner.Application.Batches;
using HilRunner.Application.Tables;
using HilRunner.Core;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Shakers;
using HilRunner.Core.Sweeps;
using HilRunner.Engine.Shaking;

namespace HilRunner.Application.Sweeping;

/// <summary>
/// A sweep by the rig's table. It moves nothing before a person at the terminal, or an interlock, has said yes; begins at a low level; and after a stop that was not its own it does not begin again.
/// </summary>
internal sealed class TableSweep : IAsyncDisposable
{
    private readonly JobContext _context;
    private readonly SweepPlan _plan;
    private readonly Rig _rig;
    private readonly SweepOrder _order;
    private readonly TableBench _bench;
    private TableLoop? _loop;

    /// <exception cref="Core.Links.LinkException">The controller's link cannot be opened.</exception>
    public TableSweep(JobContext context, SweepPlan plan, Rig rig, SweepOrder order, string logPath)
    {
        (_context, _plan, _rig, _order) = (context, plan, rig, order);
        _bench = new(context, rig, order.InterlockAnswers, logPath);
        Slot = SlotOf(plan, rig.Shaker!.Envelope, _bench.Sines.LearningTime);
    }

    /// <summary>How long each level lasts: the plan's dwell, and the longest ramp.</summary>
    public TimeSpan Slot { get; }

    /// <summary>However the sweep ended: the table is brought to rest, and what is known of that is said.</summary>
    public ValueTask DisposeAsync() => _bench.DisposeAsync();

    /// <summary>Everything that can be refused before the table is spoken to.</summary>
    /// <exception cref="UsageException">The rig has no table, or the command line does not fit.</exception>
    /// <exception cref="BadInputException">The plan asks for what the table must not do.</exception>
    public static void Check(IOperator person, SweepPlan plan, Rig rig, SweepOrder order)
    {
        TableBench.Check(person, rig, order.InterlockAnswers, order.Speed);
        var shaker = rig.Shaker!;
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
            if (SlotOf(plan, shaker.Envelope, _ => TimeSpan.Zero) > plan.Dwell!.Value * 1.5)
            {
                Refuse($"a dwell of {plan.Dwell!.Value.TotalSeconds:0.###} s, of which ramps take more than a third",
                    "a longer dwell, or finer steps");
            }
        }
        if (faults.Count > 0) { throw new BadInputException(faults); }
    }

    /// <summary>Asks for leave, arms the table, and moves it for the first time, at a low level.</summary>
    /// <returns>What the table measured over what it was told.</returns>
    /// <exception cref="ShakerException">It is not the right one, not at rest, or does not do what it is told; or the person did not say yes.</exception>
    /// <exception cref="OperationCanceledException">It was interrupted.</exception>
    public async Task<double> BeginAsync(CancellationToken stop)
    {
        var loops = Staircase.Of(_plan);
        var highest = loops.SelectMany(l => l.Levels.Select(v => Motion(_plan, l.Across, v.Level))).MaxBy(m => m.PeakG);
        double minutes = loops.Sum(l => l.Levels.Count() + 1) * Slot.TotalMinutes;
        await _bench.ArmAsync(FormattableString.Invariant($"up to {highest.PeakG:0.###} g at {highest.Hz:0.###} Hz ({highest.Displacement * 1000:0.###} mm either side), {loops.Count} {(loops.Count == 1 ? "loop" : "loops")}, {minutes:0.0} min"), FirstLevel.Words(highest.PeakG), stop).ConfigureAwait(false);
        string seconds = FormattableString.Invariant($"{_bench.Sines.LearningTime(highest).TotalSeconds:0} s");
        _bench.Tell($"the table moves for {seconds}, {FirstLevel.Words(highest.PeakG)}");
        double gain = await _bench.Sines.MeasureGainAsync(highest, stop).ConfigureAwait(false);
        await _bench.Sines.GoToAsync(_bench.Session.Commanded with { PeakG = 0 }, stop).ConfigureAwait(false);
        await _bench.AskToGoOnAsync(FormattableString.Invariant($"it made {gain:0.00} times what it was told; is everything fixed and as it should be? type go for the sweep"), stop).ConfigureAwait(false);
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
            Mover = folder => _loop = new(_context, _bench.Session, _bench.Sines, [levels[0], .. levels], Slot, folder, stop),
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
            if (TableOutcome.IsOff(told,
                made)) { return FormattableString.Invariant($"the table made {made:0.####} g where it was told {told:0.####} g at {_loop.Levels[i].Hz:0.###} Hz, outside {TableOutcome.Words}"); }
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

    /// <param name="learning">How long it takes to learn what the table makes of another frequency.</param>
    private static TimeSpan SlotOf(SweepPlan plan, Envelope envelope, Func<SineMotion, TimeSpan> learning)
    {
        var ramp = TimeSpan.Zero;
        foreach (var loop in Staircase.Of(plan))
        {
            var levels = loop.Levels.Select(l => Motion(plan, loop.Across, l.Level)).ToList();
            foreach (var (before, next) in levels.Zip(levels.Skip(1)).Prepend((levels[0] with { PeakG = 0 }, levels[0])))
            {
                var time = before.Hz == next.Hz ? SineDrive.RampTime(envelope, before.PeakG, next.PeakG)
                    : SineDrive.RampTime(envelope, before.PeakG, 0) + SineDrive.RampTime(envelope, 0, next.PeakG)
                    + learning(next);
                if (time > ramp) { ramp = time; }
            }
        }
        return TimeSpan.FromSeconds(Math.Ceiling(((plan.Dwell ?? TimeSpan.Zero) + ramp).TotalSeconds * 10) / 10);
    }
}
