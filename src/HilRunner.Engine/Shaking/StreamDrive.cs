using HilRunner.Core.Shakers;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Shaking;

/// <param name="Sent">What the table is told.</param>
/// <param name="WantedG">[position] what is wanted of it, in g; null: what it is told.</param>
/// <param name="LearningG">What it makes of each frequency is not known yet: as <see cref="MotionWatch"/> takes it.</param>
public sealed record StreamedMotion(
    TableMotion Sent, IReadOnlyList<double>? WantedG = null, double? LearningG = null);

/// <summary>Plays a motion into a table, position by position: its buffer is filled before it moves and kept full while it does.</summary>
public sealed class StreamDrive(ShakerSession session, HostClock clock)
{
    private static readonly TimeSpan s_look = TimeSpan.FromMilliseconds(5), s_settle = TimeSpan.FromSeconds(2), s_silence = TimeSpan.FromSeconds(1);

    /// <summary>How long before it is to move it must be called: the buffer is filled meanwhile.</summary>
    public static readonly TimeSpan Filling = TimeSpan.FromMilliseconds(500);

    /// <summary>Plays it whole.</summary>
    /// <param name="begin">When it is to begin to move; null: at once.</param>
    /// <param name="moved">Told the moment at which it was told to begin.</param>
    /// <returns>[position] what the table measured, in g; shorter where it did not say.</returns>
    /// <exception cref="ShakerException">The table was stopped.</exception>
    /// <exception cref="OperationCanceledException">It is moving; whoever called brings it to rest.</exception>
    public async Task<double[]> PlayAsync(StreamedMotion streamed, HostTime? begin, Action<HostTime>? moved,
        CancellationToken stop)
    {
        var motion = streamed.Sent;
        session.BeginStream(streamed);
        bool sent = session.Feed(motion);
        while (begin is { } at && clock.Now < at) { await Task.Delay(TimeSpan.FromTicks(Math.Clamp((at - clock.Now) / 100, 1, s_look.Ticks)), clock.Provider, stop).ConfigureAwait(false); }
        session.Go();
        moved?.Invoke(clock.Now);
        HostTime heard = clock.Now;
        long last = 0;
        bool ended = false;
        while (true)
        {
            if (!sent) { sent = session.Feed(motion); }
            if (sent && !ended)
            {
                session.EndStream();
                ended = true;
            }
            session.Watch();
            long played = session.Played;
            if (played >= motion.Nm.Count) { break; }
            if (played != last) { (last, heard) = (played, clock.Now); }
            if (clock.Now > heard + s_silence) { throw session.StopFor($"it has said nothing of {motion.Nm.Count - played} positions for {s_silence.TotalMilliseconds:0} ms"); }
            await Task.Delay(s_look, clock.Provider, stop).ConfigureAwait(false);
        }
        for (HostTime end = clock.Now + s_settle; session.Status().State is TableState.Moving or TableState.Stopping;)
        {
            if (clock.Now > end) { throw session.StopFor($"it still moves {s_settle.TotalSeconds:0} s after its last position"); }
            await Task.Delay(s_look, clock.Provider, stop).ConfigureAwait(false);
        }
        session.EndMotion();
        return session.Streamed.MeasuredG;
    }
}
