using CsCheck;
using HilRunner.Core.Runs;
using HilRunner.Engine.Playing;
using HilRunner.Testing;

namespace HilRunner.Engine.Tests.Playing;

public class PlayoutLogTests
{
    private static readonly Gen<PlayoutRow> s_rows = Gen.Select(
        Gen.Long[-1000, 10_000_000], Gen.Bool, Gen.Long[-4_000_000_000, 100_000_000_000_000], Gen.Long[-4_000_000_000, 100_000_000_000_000],
        (n, timed, due, actual) => new PlayoutRow(n, timed ? due : null, actual));

    [Test]
    public void EveryRowIsReadBackExactly()
    {
        using var folder = TestPaths.NewFolder();
        s_rows.List[0, 50].Select(rows => rows.DistinctBy(r => r.N).OrderBy(r => r.N).ToList()).Sample(rows =>
        {
            string path = folder.File("playout.csv");
            File.Delete(path);
            using (var log = new PlayoutLog(path)) { rows.ForEach(log.Append); }
            Assert.That(PlayoutFile.Read(path), Is.EqualTo(rows));
        }, threads: 1);
    }

    [Test]
    public void RowsBeyondItsBufferAreKept()
    {
        using var folder = TestPaths.NewFolder();
        using (var log = new PlayoutLog(folder.File("playout.csv")))
        {
            for (int i = 0; i < 20_000; i++) { log.Append(new(i, i * 20_000_000L, i * 20_000_000L + 83)); }
        }
        Assert.That(PlayoutFile.Read(folder.File("playout.csv")), Has.Count.EqualTo(20_000));
    }
}
