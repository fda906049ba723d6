using System.Globalization;
using HilRunner.Application.Batches;
using HilRunner.Application.Tables;
using HilRunner.Core.Files;
using HilRunner.Core.Shakers;
using HilRunner.Core.Time;
using HilRunner.Engine.Shaking;

namespace HilRunner.Application.Sweeping;

/// <summary>Plays one loop on the table: level after level, each in its time of the run; at the end the table stands still.</summary>
/// <param name="levels">One after the other, the run-in first.</param>
/// <param name="slot">How long each lasts, its ramp included.</param>
/// <param name="folder">Of the run: what the table did goes there.</param>
internal sealed class TableLoop(
    JobContext context, ShakerSession session, SineDrive sines, IReadOnlyList<SineMotion> levels, TimeSpan slot, string folder,
    CancellationToken stop) : IMover
{
    /// <summary>What the table was told and what it measured.</summary>
    public const string TableFile = "table.csv";
    private static readonly TimeSpan s_look = TimeSpan.FromMilliseconds(20);
    private readonly StreamWriter _table = PlainFile.CreateText(Path.Combine(folder, TableFile));
    private readonly OriginWatch _origin = new(context, folder);

    /// <summary>[level] what the table measured at the end of each, in g.</summary>
    public IReadOnlyList<double> MeasuredG => _measured;

    public IReadOnlyList<SineMotion> Levels => levels;

    private readonly List<double> _measured = [];

    private volatile int _level = -1;

    public string Now => _level is >= 0 and var i
        ? string.Create(CultureInfo.InvariantCulture,
            $"the table: {session.LatestG:0.00} g, level {i + 1} of {levels.Count} ({levels[i].PeakG:0.###} g at {levels[i].Hz:0.##} Hz), {(levels.Count - i) * slot.TotalSeconds:0} s left")
        : "the table waits";

    /// <summary>Why the table was stopped before its time; null: it was not.</summary>
    public ShakerException? Fault { get; private set; }

    public async Task<(string Cause, string Message)> RunAsync(Task<(string Cause, string Message)> playing, Action end)
    {
        try
        {
            _table.Write("t_s,hz,told_g,measured_g,mm\n");
            if (await _origin.FoundAsync(playing, stop).ConfigureAwait(false) is { } origin) { await MoveAsync(origin, playing).ConfigureAwait(false); }
        }
        catch (OperationCanceledException) { }
        catch (ShakerException fault) { Fault = fault; }
        // Armed and still between loops, and nothing more.
        try { await sines.GoToAsync(session.Commanded with { PeakG = 0 }, CancellationToken.None).ConfigureAwait(false); }
        catch (ShakerException fault) { Fault ??= fault; }
        if (Fault is not null) { end(); }
        return await playing.ConfigureAwait(false);
    }

    public void Dispose()
    {
        _origin.Dispose();
        _table.Dispose();
    }

    private async Task MoveAsync(HostTime origin, Task playing)
    {
        for (int i = 0; i < levels.Count && !playing.IsCompleted; i++)
        {
            _level = i;
            if (levels[i].PeakG > 0 && !sines.Knows(levels[i].Hz))
            {
                await sines.MeasureGainAsync(levels[i], stop).ConfigureAwait(false);
            }
            await sines.GoToAsync(levels[i], stop).ConfigureAwait(false);
            HostTime next = origin + slot * (i + 1);
            double sum = 0;
            int count = 0;
            while (context.Clock.Now < next && !playing.IsCompleted)
            {
                var status = session.Status();
                double at = (context.Clock.Now - origin) / 1e9;
                _table.Write(string.Create(CultureInfo.InvariantCulture, $"{at:0.000},{levels[i].Hz:0.######},{levels[i].PeakG:0.######},{status.PeakG:0.#####},{status.Mm:0.####}\n"));
                if (next - context.Clock.Now < slot.Ticks * 25) { (sum, count) = (sum + status.PeakG, count + 1); }
                if (session.Tripped is { } tripped) { throw tripped; }
                await Task.Delay(TimeSpan.FromTicks(Math.Clamp((next - context.Clock.Now) / 100, 1, s_look.Ticks * 5)),
                    context.Clock.Provider, stop).ConfigureAwait(false);
            }
            double made = count == 0 ? double.NaN : sum / count, wanted = levels[i].PeakG;
            _measured.Add(made);
            // The next level is never begun on one that was not confirmed.
            if (count > 0 && wanted >= FirstLevel.LowestG && !(Math.Abs(made - wanted) <= MotionWatch.Share * wanted))
            {
                throw session.StopFor(FormattableString.Invariant($"it made {made:0.###} g where {wanted:0.###} g at {levels[i].Hz:0.##} Hz were wanted"));
            }
            if (count > 0) { sines.Learn(levels[i].Hz, wanted, made); }
        }
    }
}
