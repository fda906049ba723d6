using System.Diagnostics;
using System.Runtime.ExceptionServices;

namespace HilRunner.Transport.Tests.Links;

/// <summary>Runs something that might hang on a thread of its own, so that a hang is a failure with a cause.</summary>
internal static class Within
{
    /// <returns>How long it took.</returns>
    public static TimeSpan Seconds(double limitS, string what, Action action)
    {
        var running = Begin(action);
        return running.End(limitS, what);
    }

    public static Running Begin(Action action) => new(action);

    public sealed class Running
    {
        private readonly Thread _thread;
        private readonly Stopwatch _watch = Stopwatch.StartNew();
        private ExceptionDispatchInfo? _thrown;
        private TimeSpan _took;

        public Running(Action action)
        {
            _thread = new(() =>
            {
                try { action(); }
                catch (Exception e) { _thrown = ExceptionDispatchInfo.Capture(e); }
                _took = _watch.Elapsed;
            })
            { IsBackground = true };
            _thread.Start();
        }

        /// <summary>Waits for the end, fails the test at the limit, and throws what the action threw.</summary>
        public TimeSpan End(double limitS, string what)
        {
            Assert.That(_thread.Join(TimeSpan.FromSeconds(limitS)), Is.True, $"{what} did not end within {limitS} s");
            _thrown?.Throw();
            return _took;
        }
    }
}
