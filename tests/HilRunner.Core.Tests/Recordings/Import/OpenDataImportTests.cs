using HilRunner.Core.Recordings;
using HilRunner.Core.Recordings.Import;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Recordings.Import;

/// <summary>The four open sets through the maps in the repository, against numpy on the same files and the figures of their read-me.</summary>
public class OpenDataImportTests
{
    private TemporaryFolder _folder = null!;

    [SetUp]
    public void SetUp() => _folder = TestPaths.NewFolder();

    [TearDown]
    public void TearDown() => _folder.Dispose();

    /// <summary>Segments, seconds, mean and deviation of |a| as measured with numpy (read-me of the data).</summary>
    [TestCase("walking", 14, 282.7, 1.0542, 0.2251)]
    [TestCase("upstairs", 19, 250.0, 1.0531, 0.2786)]
    [TestCase("downstairs", 19, 217.3, 1.0483, 0.3855)]
    [TestCase("sitting", 12, 214.5, 1.0186, 0.0172)]
    [TestCase("standing", 12, 254.4, 1.0357, 0.0183)]
    [TestCase("lying", 12, 233.8, 1.0002, 0.0242)]
    public void Activity(string name, int segments, double seconds, double meanG, double deviationG)
    {
        string folder = Path.GetDirectoryName(TestPaths.OpenData("activity/labels.txt"))!;
        var magnitudes = new List<double>();
        int found = 0;
        decimal length = 0;
        foreach (string file in Directory.GetFiles(folder, "acc_*.txt").Order(StringComparer.Ordinal))
        {
            var recording = Import(file, "activity").Single();
            foreach (var label in recording.Labels.Where(l => l.Class == name))
            {
                found++;
                length += label.End.Seconds - label.Start.Seconds;
                magnitudes.AddRange(Magnitudes(recording, label));
            }
        }
        double mean = magnitudes.Average();
        Assert.That(found, Is.EqualTo(segments));
        Assert.That((double)length, Is.EqualTo(seconds).Within(0.05));
        Assert.That(mean, Is.EqualTo(meanG).Within(0.00005));
        Assert.That(Math.Sqrt(magnitudes.Average(m => (m - mean) * (m - mean))), Is.EqualTo(deviationG).Within(0.00005));
    }

    [Test]
    public void The_gyroscope_joins_where_there_is_one()
    {
        var both = Import(TestPaths.OpenData("activity/acc_exp01_user01.txt"), "activity").Single();
        var survey = Survey(TestPaths.OpenData("activity/acc_exp03_user02.txt"), "activity");
        Assert.That(both.ChannelNames, Is.EqualTo(["ax", "ay", "az", "gx", "gy", "gz"]));
        Assert.That(both.Channels[3][0], Is.EqualTo(-0.05497787147760391 * 180 / Math.PI).Within(1e-12));
        Assert.That(both.Info.Source, Is.EqualTo("person 01"));
        Assert.That(survey.Plan.Channels, Has.Count.EqualTo(3));
        Assert.That(survey.Doubts, Has.Some.Contains("gyro_exp03_user02.txt: imported without it"));
    }

    [TestCase("acc_exp06_user04.txt", 3, 6)]
    [TestCase("acc_exp07_user03.txt", 3, 5)]
    [TestCase("acc_exp10_user06.txt", 6, 10)]
    public void Activity_pocket(string name, int channels, int labels)
    {
        string path = TestPaths.OpenData("activity-pocket/" + name);
        var recording = Import(path, "activity-pocket").Single();
        double[] expected = Scipy.Evaluate($"(lambda a: [len(a), np.linalg.norm(a, axis=1).mean() / 9.80665])(np.loadtxt('{path}'))", []);
        Assert.That(recording.ChannelNames, Has.Count.EqualTo(channels));
        Assert.That(recording.SampleCount, Is.EqualTo((int)expected[0]));
        Assert.That(Magnitudes(recording, new(new(0), recording.Duration, "")).Average(), Is.EqualTo(expected[1]).Within(1e-12));
        Assert.That(recording.Labels, Has.Count.EqualTo(labels));
    }

    /// <summary>numpy parts the rows where the stamps jump; rows, rate and mean |a| of every stretch must agree.</summary>
    [TestCase("1631")]
    [TestCase("1637")]
    public void Activity_daily_is_one_recording_for_each_stretch(string subject)
    {
        string path = TestPaths.OpenData($"activity-daily/data_{subject}_accel_phone.txt");
        var survey = Survey(path, "activity-daily");
        var recordings = Importing.Written(survey);
        double[] expected = Scipy.Run($"""
            rows = [l.strip().rstrip(';').split(',') for l in open('{path}')]
            t = np.array([int(r[2]) for r in rows]); a = np.array([[float(v) for v in r[3:6]] for r in rows])
            step = np.diff(t); cuts = np.flatnonzero(abs(step - np.median(step)) > np.median(step) / 2) + 1
            y = []
            for p in np.split(np.arange(len(t)), cuts):
                y += [len(p), 1e9 * (len(p) - 1) / (t[p[-1]] - t[p[0]]), np.linalg.norm(a[p], axis=1).mean() / 9.80665, float(ord(rows[p[0]][1]))]
            """, []);
        Assert.That(recordings, Has.Count.EqualTo(expected.Length / 4));
        var names = ImportMapFile.Read(MapPath("activity-daily")).Names;
        for (int i = 0; i < recordings.Count; i++)
        {
            var (recording, plan) = (recordings[i], survey.Recordings[i]);
            Assert.That(plan.Rows, Is.EqualTo((int)expected[4 * i]), recording.Name);
            Assert.That(plan.MeanMagnitudeG, Is.EqualTo(expected[4 * i + 2]).Within(1e-12), recording.Name);
            Assert.That(recording.Rate.Hertz, Is.EqualTo(20));
            Assert.That(recording.SampleCount, Is.EqualTo(Math.Floor((plan.Rows - 1) / expected[4 * i + 1] * 20 + 1e-6) + 1), recording.Name);
            Assert.That(recording.Labels[0].Class, Is.EqualTo(names[$"{(char)expected[4 * i + 3]}"]), recording.Name);
        }
    }

    /// <summary>The clock of this phone is steady: its stretches need no interpolation.</summary>
    [Test]
    public void Activity_daily_of_a_steady_clock_keeps_its_samples()
    {
        var map = ImportMapFile.Read(MapPath("activity-daily")) with { Resample = null };
        var survey = RecordingImport.Survey(TestPaths.OpenData("activity-daily/data_1631_accel_phone.txt"), map, new(_folder.Path));
        var recordings = Importing.Written(survey);
        Assert.That(recordings.Sum(r => r.SampleCount), Is.EqualTo(64315));
        Assert.That(recordings.Select(r => r.Rate.Hertz), Has.All.EqualTo(19.859).Within(0.0011));
        Assert.That(survey.Recordings.Select(r => r.Placing), Has.All.EqualTo(Placing.Stamps));
    }

    /// <summary>The clock of the other is not.</summary>
    [Test]
    public void Activity_daily_of_an_unsteady_clock_is_uneven()
    {
        var map = ImportMapFile.Read(MapPath("activity-daily")) with { Resample = null };
        Assert.That(() => RecordingImport.Survey(TestPaths.OpenData("activity-daily/data_1637_accel_phone.txt"), map, new(_folder.Path)),
            Throws.TypeOf<BadInputException>().With.Message.Contains("farther than half a step from its even place"));
    }

    /// <summary>Mean |a| of standing in g: the read-me of the data.</summary>
    [TestCase("1631", 1.004)]
    [TestCase("1637", 1.007)]
    public void Activity_daily_standing(string subject, double meanG)
    {
        var standing = Import(TestPaths.OpenData($"activity-daily/data_{subject}_accel_phone.txt"), "activity-daily").SelectMany(r => r.Labels.Where(l => l.Class == "standing").SelectMany(l => Magnitudes(r, l)));
        Assert.That(standing.Average(), Is.EqualTo(meanG).Within(0.0005));
    }

    /// <summary>Deviation of x at 60 % and 100 %: the read-me of the data.</summary>
    [TestCase(1, 0.141, 2.154)]
    [TestCase(2, 0.098, 1.633)]
    [TestCase(3, 0.040, 0.137)]
    public void Vibration_is_one_recording_for_each_weight_and_speed(int weights, double at60, double at100)
    {
        var recordings = Import(TestPaths.OpenData("vibration/fan.csv"), "vibration");
        Assert.That(recordings.Select(r => r.SampleCount), Is.EqualTo(Enumerable.Repeat(3000, 15)));
        double Deviation(int speed)
        {
            double[] x = recordings[(weights - 1) * 5 + speed].Channels[0];
            return Math.Sqrt(x.Average(v => v * v) - x.Average() * x.Average());
        }
        Assert.That(Deviation(2), Is.EqualTo(at60).Within(0.0005));
        Assert.That(Deviation(4), Is.EqualTo(at100).Within(0.0005));
        Assert.That(recordings[(weights - 1) * 5].Labels.Single().Class, Is.EqualTo($"weights-{weights}"));
    }

    [TestCase("activity/acc_exp01_user01.txt", "activity")]
    [TestCase("activity-daily/data_1631_accel_phone.txt", "activity-daily")]
    [TestCase("activity-pocket/acc_exp10_user06.txt", "activity-pocket")]
    [TestCase("vibration/fan.csv", "vibration")]
    public void A_map_leaves_nothing_to_guess(string file, string map) =>
        Assert.That(Survey(TestPaths.OpenData(file), map).Doubts, Has.None.Contains("guessed"));

    private IReadOnlyList<Recording> Import(string path, string map) => Importing.Written(Survey(path, map));

    private ImportSurvey Survey(string path, string map) => RecordingImport.Survey(path, ImportMapFile.Read(MapPath(map)), new(_folder.Path));

    private static string MapPath(string map) => Path.Combine(TestPaths.Root, "scenarios", "open-data", "maps", map + ".yaml");

    private static IEnumerable<double> Magnitudes(Recording recording, LabelInterval label)
    {
        for (long i = recording.Rate.SamplesBefore(label.Start); i < Math.Min(recording.SampleCount, recording.Rate.SamplesBefore(label.End)); i++)
        {
            yield return Math.Sqrt(recording.Channels.Take(3).Sum(c => c[i] * c[i]));
        }
    }
}
