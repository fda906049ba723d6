using System.Numerics;
using HilRunner.Application.Batches;
using HilRunner.Core.Rigs;
using HilRunner.Core.Shakers;
using HilRunner.Engine.Shaking;

namespace HilRunner.Application.Tables;

/// <summary>A batch on the rig's table: leave is asked for once, the first motion is at a low level and measures what the table makes, and after a stop nothing moves again.</summary>
internal sealed class TableRun : IAsyncDisposable
{
    private readonly JobContext _context;
    private readonly Batch _batch;
    private readonly TableBench _bench;
    private readonly CancellationTokenSource _stopped;
    private double? _gain;
    private Func<double, Complex>? _response;

    /// <exception cref="Core.Links.LinkException">The controller's link cannot be opened.</exception>
    public TableRun(JobContext context, Batch batch, Rig rig, TableOrder order, string logPath, CancellationToken stop)
    {
        _context = context;
        _stopped = CancellationTokenSource.CreateLinkedTokenSource(stop);
        _bench = new(context, rig, order.InterlockAnswers, logPath);
        _batch = batch with { Items = [.. batch.Items.Select(i =>
            i with { Mover = folder => new TableMover(context, this, i.OnTable!, folder) })] };
    }

    /// <summary>With what moves each.</summary>
    public Batch Batch => _batch;

    public StreamDrive Drive => new(_bench.Session, _context.Clock);

    /// <summary>Why the table was stopped; null: it was not.</summary>
    public ShakerException? Fault { get; private set; }

    /// <summary>What the table measured in the run that is under way, as far as it came, in g.</summary>
    public double[] MeasuredG => _bench.Session.Streamed.MeasuredG;

    /// <summary>What the table said last, in g, peak.</summary>
    public double LatestG => _bench.Session.LatestG;

    /// <summary>Cancelled once the table was stopped, or the batch was.</summary>
    public CancellationToken Stopped => _stopped.Token;

    /// <summary>Asks for leave, arms the table, and moves it for the first time, at a low level.</summary>
    /// <exception cref="ShakerException">It is not the right one, not at rest, or does not do what it is told; or the person did not say yes.</exception>
    /// <exception cref="OperationCanceledException">It was interrupted.</exception>
    public async Task BeginAsync(CancellationToken stop)
    {
        TableItem[] items = [.. _batch.Items.Select(i => i.OnTable!)];
        double peak = items.Max(i => i.Built.Motion.ToldG().Max(Math.Abs)), mm = items.Max(i => i.Built.Motion.Nm.Max(Math.Abs)) / 1e6, minutes = items.Sum(i => i.Listen.TotalMinutes);
        await _bench.ArmAsync(FormattableString.Invariant($"up to {peak:0.###} g and {mm:0.###} mm either side, {items.Length} {(items.Length == 1 ? "run" : "runs")}, {minutes:0.0} min"), FirstLevel.Words(peak), stop).ConfigureAwait(false);
        var learnt = await StreamLearning.LearnAsync(_bench.Session, Drive, _bench.Shaker.Envelope, _bench.Shaker.Stream!.Rate,
            peak, MostOf(items), _bench.Tell, stop).ConfigureAwait(false);
        (_gain, _response) = (learnt.Gain, learnt.Response);
        string said = learnt.Words;
        await _bench.AskToGoOnAsync($"{said}; is everything fixed and as it should be? type go for the {(items.Length == 1 ? "run" : "runs")}", stop).ConfigureAwait(false);
    }

    /// <summary>The motion as it is sent: so that the table makes it, where what it makes of each frequency is known and that is inside the envelope.</summary>
    public (TableMotion Sent, bool Equalised, double? Gain) Equalised(TableItem item)
    {
        if (_response is null) { return (item.Built.Motion, false, _gain); }
        var envelope = _bench.Shaker.Envelope;
        double[] scaled = [.. item.AlongG.Select(g => g * item.Built.Scale)];
        var built = MotionBuilder.Build(scaled, item.Stimulus.Rate, envelope with { FromHz = item.Built.FromHz }, item.Built.Motion.Rate, MotionFit.None, _response);
        return built.Motion.Refused(envelope) is null && built.Motion.Nm.Count == item.Built.Motion.Nm.Count ? (built.Motion, true, _gain) : (item.Built.Motion, false, _gain);
    }

    /// <summary>With what is wanted of it: where the table cannot be told the inverse, no more than the most of it.</summary>
    public StreamedMotion Streamed(TableItem item, TableMotion sent, bool equalised)
    {
        var wanted = item.Built.Motion;
        double[] g = wanted.ToldG();
        return new(sent, g, equalised ? null : MostOf([item]));
    }

    /// <summary>In g rms.</summary>
    private static double MostOf(IEnumerable<TableItem> items) =>
        items.Select(i => i.Built.Motion).Distinct().Max(m => MotionWatch.MostOf(m.ToldG(), m.Rate.Hertz));

    /// <summary>The table was stopped: nothing of the batch moves any more.</summary>
    public void Stop(ShakerException fault)
    {
        Fault ??= fault;
        _stopped.Cancel();
    }

    /// <summary>A run was broken off while the table moved: it is brought to rest at once, and nothing moves again.</summary>
    public void Rest()
    {
        string why = "a run ended while the table moved: it was stopped, and nothing moves again until somebody starts it";
        try { _bench.Session.Stop(); }
        catch (ShakerException fault) { why = fault.Message; }
        Stop(new(why));
    }

    public async ValueTask DisposeAsync()
    {
        await _bench.DisposeAsync().ConfigureAwait(false);
        _stopped.Dispose();
    }
}
