using HilRunner.Core.Rigs;

namespace HilRunner.Application.Recorders;

/// <summary>Which key stands for which class: 1 to 9 in the order of the rig file, then letters.</summary>
internal sealed class ClassKeys
{
    /// <summary>Without those that mean something else while recording.</summary>
    private const string Keys = "123456789abcdefghijklmnoprstvwxyz";

    private ClassKeys(IReadOnlyList<string> classes) => Classes = classes;

    public IReadOnlyList<string> Classes { get; }

    /// <summary>The given classes, else all that the rig names.</summary>
    /// <exception cref="UsageException">More than there are keys.</exception>
    public static ClassKeys Of(Rig rig, IReadOnlyList<string> given)
    {
        string[] classes = given.Count > 0
            ? [.. given.Distinct()]
            : [.. rig.Device.Classes.Values.Concat(rig.Device.Says.Decisions.SelectMany(d => (d.Classes ?? new Dictionary<string, string>()).Values)).Distinct()];
        return classes.Length <= Keys.Length ? new(classes) : throw new UsageException($"{classes.Length} classes and {Keys.Length} keys: name those to be labelled with --class");
    }

    public char KeyOf(int index) => Keys[index];

    /// <summary>The key of a class; a blank where it has none.</summary>
    public char KeyOf(string? @class)
    {
        int index = @class is null ? -1 : Classes.ToList().IndexOf(@class);
        return index < 0 ? @class is null ? ' ' : '?' : Keys[index];
    }

    /// <summary>Null: no class has this key.</summary>
    public string? ClassOf(char key)
    {
        int index = Keys.IndexOf(key, StringComparison.Ordinal);
        return index >= 0 && index < Classes.Count ? Classes[index] : null;
    }
}
