using HilRunner.Core.Recordings;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Recordings;

/// <summary>The open recordings exactly as published, against the figures measured with numpy that their read-me states.</summary>
public class OpenRecordingTests
{
    private static readonly Dictionary<string, string> s_names = new()
    {
        ["1"] = "walking", ["2"] = "upstairs", ["3"] = "downstairs", ["4"] = "sitting", ["5"] = "standing", ["6"] = "lying",
    };

    private static readonly (int Experiment, int User)[] s_people = [(1, 1), (3, 2), (5, 3), (7, 4), (9, 5), (11, 6)];

    [TestCase("walking", 14, 282.7, 1.0542, 0.2251)]
    [TestCase("upstairs", 19, 250.0, 1.0531, 0.2786)]
    [TestCase("downstairs", 19, 217.3, 1.0483, 0.3855)]
    [TestCase("sitting", 12, 214.5, 1.0186, 0.0172)]
    [TestCase("standing", 12, 254.4, 1.0357, 0.0183)]
    [TestCase("lying", 12, 233.8, 1.0002, 0.0242)]
    public void Activity_of_six_people(string name, int segments, double seconds, double meanG, double deviationG)
    {
        var magnitudes = new List<double>();
        int found = 0;
        long ns = 0;
        foreach (var (experiment, user) in s_people)
        {
            var recording = Activity(experiment, user);
            foreach (var label in recording.Labels.Where(l => l.Class == name))
            {
                found++;
                ns += label.End - label.Start;
                for (long i = recording.Rate.SamplesBefore(label.Start); i < recording.Rate.SamplesBefore(label.End); i++)
                {
                    magnitudes.Add(Math.Sqrt(recording.Channels.Sum(c => c[i] * c[i])));
                }
            }
        }
        double mean = magnitudes.Average();
        Assert.That(found, Is.EqualTo(segments));
        Assert.That(ns / 1e9, Is.EqualTo(seconds).Within(0.05));
        Assert.That(mean, Is.EqualTo(meanG).Within(0.00005));
        Assert.That(Math.Sqrt(magnitudes.Average(m => (m - mean) * (m - mean))), Is.EqualTo(deviationG).Within(0.00005));
    }

    [Test]
    public void Turning_rates_of_the_same_people_are_in_degrees()
    {
        var format = new ForeignFormat { Separator = "space", Columns = ["gx", "gy", "gz"], Gyro = "rad/s", Rate = new(50_000) };
        var gyro = RecordingFile.ReadForeign(TestPaths.OpenData("activity/gyro_exp01_user01.txt"), format);
        Assert.That(gyro.SampleCount, Is.EqualTo(Activity(1, 1).SampleCount));
        Assert.That(gyro.Channels[0][0], Is.EqualTo(-0.05497787147760391 * 180 / Math.PI).Within(1e-12));
    }

    /// <summary>Against numpy on the same lines of the same file: first and last sample of its first stretch of standing.</summary>
    [TestCase("activity-pocket/acc_exp06_user04.txt", "6", "4", 6, 13102, 15776)]
    [TestCase("activity-pocket/acc_exp10_user06.txt", "10", "6", 10, 18710, 21548)]
    public void Pocket_recordings_in_metres_per_second_squared(string path, string experiment, string user, int labels, int first, int last)
    {
        string file = TestPaths.OpenData(path);
        var recording = RecordingFile.ReadForeign(file, Format("activity-pocket/labels.txt", experiment, user) with { Acceleration = "m/s2" });
        var standing = recording.Labels.First(l => l.Class == "standing");
        double mean = Enumerable.Range(first - 1, last - first + 1).Average(i => Math.Sqrt(recording.Channels.Sum(c => c[i] * c[i])));
        double expected = Scipy.Evaluate($"[np.linalg.norm(np.loadtxt('{file}')[{first - 1}:{last}], axis=1).mean() / 9.80665]", [])[0];
        Assert.That(recording.Labels, Has.Count.EqualTo(labels));
        Assert.That((standing.Start, standing.End), Is.EqualTo((recording.Rate.TimeOf(first - 1), recording.Rate.TimeOf(last))));
        Assert.That(mean, Is.EqualTo(expected).Within(1e-12));
    }

    [Test]
    public void A_table_with_header_and_columns_of_no_interest()
    {
        var format = new ForeignFormat { Header = true, Columns = ["_", "_", "ax", "ay", "az"], Rate = new(50_000) };
        var recording = RecordingFile.ReadForeign(TestPaths.OpenData("vibration/fan.csv"), format);
        Assert.That(recording.SampleCount, Is.EqualTo(3 * 5 * 3000));
        Assert.That(recording.Channels.Select(c => c[0]), Is.EqualTo([1.004, 0.09, -0.125]));
    }

    private static Recording Activity(int experiment, int user) => RecordingFile.ReadForeign(
        TestPaths.OpenData($"activity/acc_exp{experiment:00}_user{user:00}.txt"), Format("activity/labels.txt", $"{experiment}", $"{user}"));

    private static ForeignFormat Format(string labels, string experiment, string user) => new()
    {
        Separator = "space", Columns = ["ax", "ay", "az"], Rate = new(50_000),
        Labels = new(TestPaths.OpenData(labels), "space", ["experiment", "user", "class", "first", "last"])
        {
            Where = new Dictionary<string, string> { ["experiment"] = experiment, ["user"] = user }, Names = s_names,
        },
    };
}
