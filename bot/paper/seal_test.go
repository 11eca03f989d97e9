package paper

import (
	"fmt"
	"reflect"
	"testing"
)

// allKinds is a sheet with an item of each kind.
func allKinds() *Sheet {
	inner := NewSheet(5, 6)
	inner.Circle(1, 2, 3, Black)
	s := NewSheet(100, 50)
	s.Fill(new(Path).MoveTo(1, 2).CurveTo(3, 4, 5, 6, 7, 8).Close(), Ink{1, 2, 3})
	s.Stroke(new(Path).MoveTo(1, 2).LineTo(3, 4), Pen{Ink: Ink{4, 5, 6}, Width: 2, Dash: []float64{3, 1}, Cap: Round})
	s.Text(10, 25, 12, Bold, Middle, Black, "raise 3")
	s.Place(inner, 7, 8, 0.5)
	return s
}

// TestSealHoldsEverything changes each value of a sheet, one at a time, and those
// that stand in new fields by themselves: each change is another seal.
func TestSealHoldsEverything(t *testing.T) {
	of := func(s *Sheet, width int) seal {
		sum, whole := sealOf(s, width)
		if !whole {
			t.Fatal("a sheet was not read whole")
		}
		return sum
	}
	usual := of(allKinds(), 400)
	if usual != of(allKinds(), 400) {
		t.Fatal("the same sheet has two seals")
	}
	if usual == of(allKinds(), 401) {
		t.Error("another width has the same seal")
	}
	changes := 0
	s := allKinds()
	for i := range s.Items {
		item := s.Items[i]
		copied := reflect.New(reflect.TypeOf(item)).Elem()
		copied.Set(reflect.ValueOf(item))
		eachValue(copied, reflect.TypeOf(item).Name(), func(name string) {
			changes++
			s.Items[i] = copied.Interface().(Item)
			if of(s, 400) == usual {
				t.Errorf("%s is not in the seal", name)
			}
			s.Items[i] = item
		})
	}
	if changes < 30 {
		t.Errorf("only %d changes were tried", changes)
	}
	if s.W++; of(s, 400) == usual {
		t.Error("the width of the sheet is not in the seal")
	}
	s = allKinds()
	if s.Items = s.Items[:3]; of(s, 400) == usual {
		t.Error("a missing item is not in the seal")
	}
}

// eachValue changes each plain value within v, calls try, and puts it back.
func eachValue(v reflect.Value, name string, try func(name string)) {
	switch p := v.Interface().(type) {
	case *Path:
		for i := range p.points {
			p.points[i].X++
			try(name + ".points")
			p.points[i].X--
			p.points[i].Y++
			try(name + ".points")
			p.points[i].Y--
		}
		p.steps = append(p.steps, closed)
		try(name + ".steps")
		p.steps = p.steps[:len(p.steps)-1]
		return
	case *Sheet:
		p.W++
		try(name + ".W")
		p.W--
		p.H++
		try(name + ".H")
		p.H--
		p.Items = append(p.Items, p.Items[0])
		try(name + ".Items")
		p.Items = p.Items[:len(p.Items)-1]
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			eachValue(v.Field(i), name+"."+v.Type().Field(i).Name, try)
		}
	case reflect.Slice:
		for i := range v.Len() {
			eachValue(v.Index(i), fmt.Sprint(name, "[", i, "]"), try)
		}
		was := reflect.ValueOf(v.Interface())
		v.Set(reflect.AppendSlice(reflect.MakeSlice(v.Type(), 0, 0), reflect.Append(was, was.Index(0))))
		try(name + " longer")
		v.Set(was)
	case reflect.Float64:
		v.SetFloat(v.Float() + 1)
		try(name)
		v.SetFloat(v.Float() - 1)
	case reflect.Int:
		v.SetInt(v.Int() + 1)
		try(name)
		v.SetInt(v.Int() - 1)
	case reflect.Uint8:
		v.SetUint(v.Uint() + 1)
		try(name)
		v.SetUint(v.Uint() - 1)
	case reflect.String:
		was := v.String()
		v.SetString(was + " ")
		try(name)
		v.SetString(was)
	default:
		panic(fmt.Sprintf("%s is a %s, which this test cannot change", name, v.Kind()))
	}
}

// blot is an item that the seal cannot read.
type blot struct{}

func (blot) item() {}

func TestSealOfTheUnknown(t *testing.T) {
	s := allKinds()
	s.Items = append(s.Items, blot{})
	if _, whole := sealOf(s, 400); whole {
		t.Error("an item of an unknown kind is taken for read")
	}
	s = allKinds()
	s.Items[3].(Placed).Sheet.Items = []Item{blot{}}
	if _, whole := sealOf(s, 400); whole {
		t.Error("an item of an unknown kind on a sheet upon the sheet is taken for read")
	}
}
