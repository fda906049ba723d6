using System.Reactive.Disposables;
using System.Reactive.Linq;
using HilRunner.Application.Batches;
using HilRunner.Application.Playing;
using HilRunner.Application.Runs;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Core.Runs;
using HilRunner.Reporting;
using HilRunner.Scoring;

namespace HilRunner.Cli.Screen;

/// <summary>
/// What <c>hil run</c> shows while it plays: on a terminal a live line for the run under way, elsewhere a line for each finished
/// run. Both are diagnostics and go to stderr.
/// </summary>
internal sealed class RunScreen : IPlayView, IDisposable
{
    private static readonly TimeSpan s_refresh = TimeSpan.FromMilliseconds(200);
    private readonly bool _quiet, _several, _eachRun;
    private readonly LiveLine? _line;

    /// <param name="several">Several runs at once: no live line, but a line for each that is finished, with its rig.</param>
    /// <param name="eachRun">Off a terminal, a line for each finished run; false: whoever plays says what came of it.</param>
    public RunScreen(bool quiet, bool several, bool eachRun = true)
    {
        (_quiet, _several, _eachRun) = (quiet, several, eachRun);
        if (!quiet && !several && !Console.IsErrorRedirected) { _line = new(Terminal.Drawing); }
    }

    /// <summary>Plays a batch, and shows it; the screen is free again when it has ended.</summary>
    public static async Task<(SuiteResult Result, BatchOutcome Outcome)> PlayAsync(
        BatchJob job, bool quiet, Action<string, IReadOnlyList<BatchItem>> begun, CancellationToken stop)
    {
        using var screen = new RunScreen(quiet, several: job.RigNames.Count > 1);
        return await job.RunAsync(screen, begun, stop).ConfigureAwait(false);
    }

    /// <summary>Waits until the terminal has taken what is left: the runs are done by then.</summary>
    public void Dispose() => _line?.Dispose();

    /// <summary>Shows a live line until disposed.</summary>
    public IDisposable Follow(BatchItem item, RunFollower follower)
    {
        if (_line is not { } line) { return Disposable.Empty; }
        string head = $"{item.Place.Number}/{item.Place.Of}  {item.Scenario.Name}";
        line.Show($"{head}  …");
        IDisposable subscription = follower.Every(s_refresh).Subscribe(p => line.Show(Text(head, p)), _ => line.Show(""));
        return Disposable.Create(() =>
        {
            subscription.Dispose();
            line.Show("");
        });
    }

    /// <summary>Shows what moves, and how it is stopped, until disposed.</summary>
    public IDisposable Follow(BatchItem item, IMover mover)
    {
        if (_line is not { } line) { return Disposable.Empty; }
        string head = $"{item.Place.Number}/{item.Place.Of}  {item.Scenario.Name}";
        var shown = Observable.Interval(s_refresh).Subscribe(_ => line.Show($"Ctrl-C stops it · {mover.Now} · {head}"));
        return Disposable.Create(() =>
        {
            shown.Dispose();
            line.Show("");
        });
    }

    public IHandView ByHand() => new HandBlock();

    /// <summary>A line about the rig.</summary>
    public void Tell(string text)
    {
        if (_quiet) { return; }
        if (_line is { } line) { line.Above(text); }
        else { Console.Error.WriteLine(text); }
    }

    /// <summary>A line for a finished run, for logs: a terminal has the table at the end.</summary>
    public void Show(StoredRun run, BatchItem item)
    {
        if (_quiet || !_eachRun || _line is not null) { return; }
        string reason = run.Score.Verdict == Verdict.Pass || run.Score.Reasons.Count == 0 ? "" : $": {run.Score.Reasons[0]}";
        string notShown = run.Score.Delivery?.Outcome == DeliveryOutcome.NotShown ? "; delivery not shown" : "";
        Console.Error.WriteLine(
            $"{item.Place.Number}/{item.Place.Of}  {Verdicts.Word(run.Score.Verdict)}  {item.Scenario.Name} ({item.Repeat}){(_several ? " on " + run.Manifest.RigName : "")}{reason}{notShown}");
    }

    private static string Text(string head, RunProgress p)
    {
        double done = p.SampleCount == 0 ? 1 : (double)p.SamplesSent / p.SampleCount;
        const int width = 20;
        int full = (int)(done * width);
        string bar = new string('━', full) + new string('─', width - full);
        string seconds = FormattableString.Invariant($"{p.SamplesSent / p.Rate.Hertz:0}/{p.SampleCount / p.Rate.Hertz:0} s");
        return $"{head}  {bar} {done:0 %}  {seconds}  device says {p.Class ?? "nothing yet"}";
    }
}
