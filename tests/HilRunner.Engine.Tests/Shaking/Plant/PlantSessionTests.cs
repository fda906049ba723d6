using HilRunner.Core.Time;
using HilRunner.Testing;

namespace HilRunner.Engine.Tests.Shaking.Plant;

/// <summary>
/// Sessions with a table apart from the product, whose resonance (Q 3 to 20) lies anywhere in the band: nothing leaves the
/// envelope, a good table is not stopped, and every fault ends at rest in the stated time. HIL_SEED plays others, HIL_LONG=1 ten
/// thousand.
/// </summary>
[Timing("a hundred controllers are looked after in real time, and stops are timed")]
public sealed class PlantSessionTests
{
    private const int AtOnce = 50;

    [Test]
    public async Task Every_session_ends_at_rest_and_inside_the_envelope()
    {
        bool isLong = Environment.GetEnvironmentVariable("HIL_LONG") == "1";
        int first = int.Parse(Environment.GetEnvironmentVariable("HIL_SEED") ?? "1000",
            System.Globalization.CultureInfo.InvariantCulture);
        int count = int.Parse(Environment.GetEnvironmentVariable("HIL_SESSIONS") ?? (isLong ? "10000" : "100"),
            System.Globalization.CultureInfo.InvariantCulture);
        var clock = new HostClock(TimeProvider.System);
        // Each session builds motions while others are fed.
        ThreadPool.SetMinThreads(4 * AtOnce, AtOnce);
        var wrong = new List<string>();
        for (int done = 0; done < count; done += AtOnce)
        {
            PlantSession[] sessions = [.. Enumerable.Range(first + done, Math.Min(AtOnce, count - done))
                .Select(seed => new PlantSession(seed, clock))];
            using var over = new CancellationTokenSource();
            long held = 0;
            var looks = new Thread(() =>
            {
                HostTime last = clock.Now;
                while (!over.Token.WaitHandle.WaitOne(2))
                {
                    HostTime now = clock.Now;
                    (held, last) = (Math.Max(held, now - last), now);
                    foreach (var session in sessions) { session.Plant.Look(); }
                }
            }) { IsBackground = true };
            looks.Start();
            var found = await Task.WhenAll(sessions.Select(s => Task.Run(s.PlayAsync)));
            await over.CancelAsync();
            looks.Join();
            foreach (var session in sessions) { session.Dispose(); }
            TestContext.Progress.WriteLine($"the controllers were held up for {held / 1e6:0} ms at most");
            wrong.AddRange(found.SelectMany(f => f));
            TestContext.Progress.WriteLine($"{done + sessions.Length} sessions from seed {first}: {wrong.Count} wrong");
        }
        Assert.That(wrong, Is.Empty, string.Join('\n', wrong));
    }
}
